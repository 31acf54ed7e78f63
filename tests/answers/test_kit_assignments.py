"""Who gets which set, against every possible way of giving the sets out."""

from __future__ import annotations

import dataclasses
import itertools
import math

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from answers.club.evening import clubs, give, given_to, judge_alone, why
from answers.club.people import (
    CONTEXT,
    RULESETS,
    quarters,
    queued,
    rack,
    with_rules,
)
from drawmark import rules
from drawmark.answers.club.members import Asked, QueuedArcher, RackSet
from drawmark.answers.club.pairs import Shooter
from drawmark.answers.common import cautions
from drawmark.answers.kit_assignments import Request, answer
from drawmark.fitting.faults import FittingError
from drawmark.fitting.limits import LAUNCH_LOAD_MIDDLE, LAUNCH_LOAD_STEP, TOLERANCE
from drawmark.fitting.model import Arrow, Bow, ClickerRange, Point
from drawmark.fitting.units import INCH
from rules.bench import rule

pytestmark = pytest.mark.usefixtures("patience")


def rank(people, sets, found, places):
    """Judge one way of giving out: less is better."""
    pairs = [found[row, place] for row, place in enumerate(places) if place is not None]
    known = [load for _, _, _, load in found.values() if load is not None]
    worst = max((abs(load - LAUNCH_LOAD_MIDDLE) for load in known), default=0.0)
    off = sum(worst if load is None else abs(load - LAUNCH_LOAD_MIDDLE) for *_, load in pairs)
    return (
        -len(pairs),
        -sum(verdict == "pass" for verdict, *_ in pairs),
        -sum(inside for _, _, inside, _ in pairs),
        -round(min((margin for _, margin, _, _ in pairs), default=0.0) / TOLERANCE),
        round(off / LAUNCH_LOAD_STEP),
    )


@st.composite
def plain_clubs(draw):
    """Clubs in which most pairs are safe, so that the later criteria decide."""
    people = [
        queued(f"archer {at}", draw(st.integers(92, 104)) / 4, draw(st.integers(16, 40)))
        for at in range(draw(st.integers(1, 4)))
    ]
    sets = [
        rack(
            f"set {at}",
            draw(quarters) / INCH,
            draw(st.integers(6, 12)),
            draw(st.sampled_from([None, 500.0, 700.0, 900.0])),
        )
        for at in range(draw(st.integers(1, 4)))
    ]
    return people, sets


@pytest.mark.parametrize("chosen", ["core", "columns", "pair by pair"])
@settings(max_examples=80)
@given(st.one_of(clubs(), plain_clubs()))
def test_the_best_of_all_ways_of_giving_out(chosen, club):
    people, sets = club
    said = give(people, sets, ruleset=RULESETS[chosen])
    found = {}
    for (row, one), (place, kind) in itertools.product(enumerate(people), enumerate(sets)):
        shooter = Shooter(archer=one.archer, bow=one.bow, local={})
        outcome, margin, inside = judge_alone(shooter, kind.arrow, RULESETS[chosen])
        if outcome.verdict in ("pass", "caution"):
            load = outcome.facts.launch_load
            found[row, place] = (outcome.verdict, margin, inside, load)
    ways = itertools.product(
        *(
            [None, *(place for place in range(len(sets)) if (row, place) in found)]
            for row in range(len(people))
        )
    )
    best = min(
        rank(people, sets, found, places)
        for places in ways
        if all(places.count(at) <= kind.count // 6 for at, kind in enumerate(sets))
    )
    chosen_sets = given_to(said)
    names = [kind.id for kind in sets]
    places = [names.index(chosen_sets[one.id]) if one.id in chosen_sets else None for one in people]
    assert rank(people, sets, found, places) == best
    assert all(places.count(at) <= kind.count // 6 for at, kind in enumerate(sets))
    for one in said["assignments"]:
        row = [person.id for person in people].index(one["archer"])
        verdict, margin, inside, load = found[row, names.index(one["set"])]
        assert (one["verdict"], one["in_window"]) == (verdict, inside)
        assert one["margin"].value == margin
        assert one["margin"].down
        assert ("launch_load" in one) == (load is not None)
    assert len(said["assignments"]) + len(said["unequipped"]) == len(people)
    assert (said["equipped"], said["in_window"]) == (-best[0], -best[2])


@pytest.mark.parametrize(
    ("people", "sets", "expected"),
    [
        pytest.param(
            # 25 + 1 and 28 + 1: only one set serves the taller, who is served first.
            [queued("short", 25), queued("tall", 28)],
            [rack("long", 30), rack("short", 26.5)],
            {"short": "short", "tall": "long"},
            id="as many as possible",
        ),
        pytest.param(
            # A coach hands out the longer: 28 in is the minimum itself, and 29.5 in is only
            # half an inch beyond the usual lengths.
            [queued("a", 27)],
            [rack("28", 28), rack("29.5", 29.5)],
            {"a": "29.5"},
            id="a pass before a usual length",
        ),
        pytest.param(
            # The window is draw + 1 to 2 in, common practice.
            [queued("a", 25), queued("b", 27)],
            [rack("28.5", 28.5), rack("26.5", 26.5), rack("29.5", 29.5)],
            {"a": "26.5", "b": "28.5"},
            id="inside the window",
        ),
        pytest.param(
            [queued("a", 25), queued("b", 25.25)],
            [rack("26.75", 26.75), rack("27", 27)],
            {"a": "26.75", "b": "27"},
            id="the greatest smallest margin",
        ),
        pytest.param(
            [queued("a", 25), queued("b", 25), queued("c", 25)],
            [rack("dozen", 26.5, 12), rack("odd", 26.5, 7)],
            {"a": "dozen", "b": "dozen", "c": "odd"},
            id="a large set serves several",
        ),
    ],
)
def test_criteria(people, sets, expected):
    assert given_to(give(people, sets)) == expected


def test_margin_is_over_the_minimum_of_the_fit_check():
    # Blade 2 in at the nearest, 0.7 in of the point exposed: 28 - 1.75 + 2 - 0.7 is 27.55 in, and
    # no shorter arrow reaches the clicker. A coach reads the margin as what could be cut off.
    one = dataclasses.replace(queued("a", 28).archer, draw_control="clicker")
    blade = ClickerRange(near=2 * INCH, far=4 * INCH)
    bow = Bow(kind="recurve", rest_position=0.0, clicker_range=blade)
    arrow = Arrow(length=28.25 * INCH, point=Point(mass=0.006, exposed_length=0.7 * INCH))
    said = give(
        [QueuedArcher(id="a", archer=one, bow=bow)], [RackSet(id="s", arrow=arrow, count=6)]
    )
    (given,) = said["assignments"]
    assert given["margin"].value / INCH == pytest.approx(28.25 - 27.55)


def test_launch_load_nearest_the_middle_comes_last():
    # The same length, and so the same margin: only the stiffness differs.
    sets = [rack("soft", 30, 6, 700.0), rack("middle", 30, 6, 550.0), rack("stiff", 30, 6, 400.0)]
    said = give([queued("a", 28, 36)], sets)
    loads = {
        kind.id: give([queued("a", 28, 36)], [kind])["assignments"][0]["launch_load"].value
        for kind in sets
    }
    nearest = min(loads, key=lambda name: abs(loads[name] - LAUNCH_LOAD_MIDDLE))
    assert given_to(said) == {"a": nearest}


def test_what_the_bow_asks_of_a_set():
    asks = Asked(nock_size="small", vanes="feathers")
    sets = [
        rack("unstated", 30),
        rack("large", 30, nock_size="large", vanes="feathers"),
        rack("right", 30, nock_size="small", vanes="feathers"),
    ]
    assert given_to(give([queued("a", 28, asked=asks)], sets)) == {"a": "right"}
    said = give([queued("a", 28, asked=asks)], sets[:2])
    assert why(said) == {"a": "not_as_asked"}


def test_checked_is_the_lightest_arrow_of_a_set():
    weighed = rack("weighed", 30)
    arrow = type(weighed.arrow)(length=30 * INCH, mass=0.0120)
    people = [queued("a", 28, 36)]
    # 36 lbf at 5 grains to the pound are 180 grains, 11.66 g: ASTM F1544, a speed test's condition.
    safe = RackSet(id="s", arrow=arrow, count=6, mass_spread=0.0002)
    light = RackSet(id="s", arrow=arrow, count=6, mass_spread=0.0005)
    assert given_to(give(people, [safe])) == {"a": "s"}
    assert why(give(people, [light])) == {"a": "stopped"}


@pytest.mark.parametrize("name", ["missing", "lacking and required"])
def test_what_cannot_be_judged_is_not_given_out(name):
    said = give([queued("a", 28)], [rack("s", 30)], ruleset=RULESETS[name])
    assert said["assignments"] == []
    assert why(said) == {"a": "in_doubt"}
    assert said["status"] == "indeterminate"
    (one,) = said["unequipped"]
    assert "would_need" not in one
    assert math.isclose(one["would_need_at_least"].value, 29 * INCH, abs_tol=TOLERANCE)
    # Whoever waits for arrows is told what is missing, and not only the club as a whole.
    assert one["unevaluated"] == said["unevaluated"] != []


def hiding(said):
    """A rule set whose columns hide what it says of long arrows: no spot check hits on those."""

    def single(case):
        return [said] if case.arrow.length > 25 * INCH else []

    return with_rules(rule(single, check_many=lambda case: []))


# In the spot check the first, the second and the last of four sets are looked at.
HIDDEN_AND_LOOKED_AT = [rack("p", 20), rack("q", 20), rack("s", 30), rack("t", 20)]


def test_a_rule_whose_columns_hide_a_stop_costs_the_set():
    said = give([queued("a", 28)], HIDDEN_AND_LOOKED_AT, ruleset=hiding(rules.stop("never")))
    assert said["assignments"] == []
    (one,) = said["unequipped"]
    assert (one["reason"], one["nearest_set"]) == ("not_confirmed", "s")
    assert [finding["message"] for finding in one["findings"]] == ["never"]


def test_a_set_with_too_few_arrows_serves_nobody():
    said = give([queued("a", 28)], [rack("s", 30, 5)])
    assert why(said) == {"a": "too_few_arrows"}


def test_every_answer_says_what_was_not_checked():
    said = give([queued("a", 28)], [rack("s", 30)])
    told = bytes(said["not_checked"])
    for words in (b"Growth of the draw", b"Fit of the nock", b"archers.asked.vanes"):
        assert words in told


def test_figures_are_those_of_the_check_that_decides():
    floor = rules.floor(29.5 * INCH, "a hall's rule")
    said = give([queued("a", 28)], HIDDEN_AND_LOOKED_AT, ruleset=hiding(floor))
    (one,) = said["assignments"]
    assert one["margin"].value / INCH == pytest.approx(0.5)


def test_cautions_that_hang_on_an_archer_are_said():
    said = give([queued("a", 28)], [rack("s", 30)])
    assert cautions.FEW_DRAWS in msgspec.json.decode(said["cautions"])


@pytest.mark.parametrize(
    ("details", "more", "path"),
    [
        pytest.param(("first", None), {}, ("archers", 1, "detail"), id="one without a detail"),
        pytest.param((None, None), {"least_arrows": 7}, ("least_arrows",), id="more than asked"),
    ],
)
def test_unclear_sharing_is_refused(details, more, path):
    people = [
        dataclasses.replace(queued(f"archer {at}", 27), detail=one)
        for at, one in enumerate(details)
    ]
    with pytest.raises(FittingError) as refused:
        answer(
            Request(archers=tuple(people), sets=(rack("a", 30),), arrows_per_archer=6, **more),
            CONTEXT,
        )
    assert refused.value.faults[0].path == path
