"""What an archer without a set is told would be enough, is enough."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from answers.club.evening import clubs, give, why
from answers.club.people import CORE, RULESETS, queued, rack, with_rules
from drawmark import rules
from drawmark.fitting.units import INCH, POUND_FORCE
from rules.bench import rule

pytestmark = pytest.mark.usefixtures("patience")


def only(said):
    (one,) = said["unequipped"]
    return one


@settings(max_examples=80)
@given(clubs())
def test_a_lighter_bow_would_be_equipped(club):
    people, sets = club
    for one in give(people, sets)["unequipped"]:
        if "lighter_bow" in one:
            assert one["reason"] == "stopped"
            (person,) = [person for person in people if person.id == one["archer"]]
            bow = dataclasses.replace(
                person.bow, draw_weight=one["lighter_bow"].value, draw_weight_basis="own_draw"
            )
            nearest = [
                dataclasses.replace(kind, count=6) for kind in sets if kind.id == one["nearest_set"]
            ]
            again = give([dataclasses.replace(person, bow=bow)], nearest)
            assert again["equipped"] == 1


@pytest.mark.parametrize("chosen", ["core", "columns"])
@settings(max_examples=80)
@given(clubs())
def test_a_set_as_long_as_said_is_not_too_short(chosen, club):
    people, sets = club
    for one in give(people, sets, ruleset=RULESETS[chosen])["unequipped"]:
        if one["reason"] != "too_short" or "would_need" not in one:
            continue
        (person,) = [person for person in people if person.id == one["archer"]]
        (kind,) = [kind for kind in sets if kind.id == one["nearest_set"]]
        for more in (0.0, 0.01, 0.04, 0.09):
            length = one["would_need"].value + more
            arrow = dataclasses.replace(kind.arrow, length=length)
            longer = dataclasses.replace(kind, arrow=arrow, count=6)
            again = give([person], [longer], ruleset=RULESETS[chosen])
            assert why(again).get(person.id) != "too_short"


@pytest.mark.parametrize(
    ("person", "sets", "reason", "length"),
    [
        pytest.param(queued("a", 28), [rack("s", 28)], "too_short", 29, id="too short"),
        pytest.param(
            queued("a", 28),
            [rack("s", 27), rack("t", 28.5), rack("u", 26)],
            "too_short",
            29,
            id="the longest comes nearest",
        ),
        pytest.param(
            queued("a", 28), [rack("s", 29, 0)], "too_few_arrows", 29, id="no arrows left"
        ),
    ],
)
def test_reason_and_length(person, sets, reason, length):
    one = only(give([person], sets))
    assert one["reason"] == reason
    # the draw and one inch: common practice, no source
    assert one["would_need"].value == pytest.approx(length * INCH)
    assert one["would_need"].up
    assert one["nearest_set"] == max(sets, key=lambda kind: kind.arrow.length).id


def test_lighter_bow_is_that_of_the_stop_limit():
    said = give([queued("a", 28, 60)], [rack("s", 30, 6, 1000.0)])
    one = only(said)
    assert one["reason"] == "stopped"
    load = one["findings"][0]["measured"].value
    # 2.2 times the critical launch force: a project default, no source
    assert one["lighter_bow"].value == pytest.approx(60 * POUND_FORCE * 2.2 / load)
    assert one["lighter_bow"].down


def test_lighter_bow_by_a_local_rule():
    one = only(give([queued("a", 27, 60)], [rack("s", 30)], ruleset=RULESETS["columns"]))
    # 150 N is what the rule under test allows
    assert one["lighter_bow"].value == pytest.approx(150.0)


def test_no_lighter_bow_where_weight_is_not_what_stops():
    never = with_rules(rule(lambda case: [rules.stop("never")]))
    one = only(give([queued("a", 27, 40)], [rack("s", 30)], ruleset=never))
    assert one["reason"] == "stopped"
    assert "lighter_bow" not in one


def test_sets_that_are_safe_and_taken_are_named():
    said = give([queued("a", 28), queued("b", 28)], [rack("s", 30), rack("t", 27)])
    one = only(said)
    assert (one["archer"], one["reason"], one["safe_sets"]) == ("b", "sets_taken", ["s"])


@settings(max_examples=60)
@given(clubs(), st.sampled_from(sorted(RULESETS)))
def test_everyone_is_told_something(club, name):
    for one in give(*club, ruleset=RULESETS[name])["unequipped"]:
        assert one["remedy"]
        assert ("would_need" in one) != ("would_need_at_least" in one)


def test_core_alone_knows_every_pair():
    assert give([queued("a", 28)], [rack("s", 30)], ruleset=CORE)["status"] == "determinate"
