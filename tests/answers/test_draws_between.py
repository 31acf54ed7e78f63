"""A figure for draws holds at every draw that it takes in, or it says at which it does not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from answers.club.people import with_rules
from builders import model
from drawmark import rules
from drawmark.answers import fit_check, kit_labels, kit_lengths, longest_draw
from drawmark.answers.club.members import ClubArcher, ClubSet
from drawmark.answers.common.context import Context
from drawmark.fitting.columns import both, where
from drawmark.fitting.model import Arrow, Bow, ClickerRange, Point
from drawmark.fitting.units import INCH
from rules.bench import rule

RECURVE = Bow(kind="recurve")
LONG = Arrow(length=28.5 * INCH)


def standard(case):
    """The draw in inches, as a coach measures it."""
    return case.facts.draw / INCH + 1.75


def stops_some(case):
    when = both(standard(case) > 21.9, standard(case) < 24.6)
    return [rules.stop("Not at these draws.", when=when)]


def more_for_short(case):
    length = where(standard(case) < 19.9, 40 * INCH, 10 * INCH)
    return [rules.floor(length, "Short draws need longer arrows.")]


def doubts_short(case):
    return [rules.indeterminate("Measure again.", when=standard(case) < 17.9)]


def fails_for_short(case):
    if standard(case) < 15.9:
        raise ValueError("never thought of that")
    return []


def only_grows(case):
    yield rules.floor(case.facts.draw + 2 * INCH, "Two inches past the pivot point.")
    yield rules.stop("Not so far.", when=standard(case) > 29)


def by_one(check):
    """The same without columns: what is not the case is not said."""
    return lambda case: [said for said in check(case) if said.when]


AGAINST = [
    pytest.param(stops_some, "stops this arrow at a draw of 24.5 in", id="stops some"),
    pytest.param(more_for_short, "stops this arrow at a draw of 19.5 in", id="raises its floor"),
    pytest.param(doubts_short, "leaves this arrow in doubt at a draw of 17.5 in", id="doubts"),
    pytest.param(fails_for_short, "leaves this arrow in doubt at a draw of 15.5 in", id="fails"),
    pytest.param(only_grows, None, id="stops far draws alone"),
    pytest.param(None, None, id="no local rule"),
]


def context(check, columns):
    made = [] if check is None else [rule(by_one(check), check_many=check if columns else None)]
    return Context(ruleset=with_rules(*made), engine="test")


def of_longest_draw(archer, context, bow=RECURVE, arrow=LONG):
    request = longest_draw.Request(arrow=arrow, bow=bow, archer=archer)
    said = longest_draw.answer(request, context)
    return said, said.get("reason")


def of_labels(archer, context, bow=RECURVE, arrow=LONG):
    request = kit_labels.Request(
        sets=(ClubSet(id="s", arrow=arrow),), bow=bow, archer=archer, growth_rate=0.01
    )
    said = kit_labels.answer(request, context)
    (label,) = said["labels"]
    sure = "longest_safe_draw" in label
    assert ("label" in label) is sure
    assert (label["growth"] == "in_doubt") is not sure
    assert said["status"] == label["status"] == ("determinate" if sure else "indeterminate")
    return label, label.get("reason")


def of_fit_check(archer, context, bow=RECURVE, arrow=LONG):
    request = fit_check.Request(archer=archer, bow=bow, arrow=arrow)
    said = fit_check.answer(request, context)
    assert said["verdict"] in ("pass", "caution")
    return said, said.get("longest_safe_draw_reason")


FIGURES = [of_longest_draw, of_labels, of_fit_check]


@pytest.mark.parametrize("columns", [True, False], ids=["in columns", "one by one"])
@pytest.mark.parametrize("told", FIGURES)
@pytest.mark.parametrize(("check", "words"), AGAINST)
def test_a_longest_draw_holds_below_or_says_where_it_does_not(check, words, told, columns):
    said, reason = told(model.archer(26), context(check, columns))
    # 28.5 in less an inch past the back of the bow
    name = "longest_safe_draw" if words is None else "longest_safe_draw_at_most"
    assert said[name].value == pytest.approx(27.5 * INCH, abs=2e-6)
    if words is None:
        assert reason is None
    else:
        assert "longest_safe_draw" not in said
        assert "label" not in said
        assert f"The rule r of local {words}" in reason


@pytest.mark.parametrize("told", FIGURES)
def test_columns_that_hide_what_the_check_stops_leave_it_in_doubt(told):
    made = rule(by_one(lambda case: [rules.stop("Too short.", when=standard(case) < 25)]))
    hidden = replace(made, check_many=lambda case: [])
    said, reason = told(model.archer(26), Context(ruleset=with_rules(hidden), engine="test"))
    assert "longest_safe_draw" not in said
    assert "The rule r of local leaves this arrow in doubt" in reason


@pytest.mark.parametrize("told", FIGURES)
@pytest.mark.parametrize(
    "changes",
    [
        pytest.param({"draw_length": None, "draws": (26 * INCH, 26.4 * INCH)}, id="draws"),
        pytest.param({"draw_control": "clicker"}, id="clicker"),
        pytest.param({"growth_allowance": 0.2 * INCH}, id="growth"),
    ],
)
@pytest.mark.parametrize("basis", ["own_draw", "at_28"])
def test_it_holds_whatever_is_known_of_the_draw(told, changes, basis):
    bow = Bow(
        kind="recurve",
        draw_weight=120.0,
        draw_weight_basis=basis,
        rest_position=0.0,
        clicker_range=ClickerRange(near=1 * INCH, far=6 * INCH),
    )
    arrow = Arrow(length=29.5 * INCH, point=Point(exposed_length=0.5 * INCH))
    archer = model.archer(26, **changes)
    for check, doubtful in ((stops_some, True), (only_grows, False)):
        said, reason = told(archer, context(check, True), bow, arrow)
        assert ("longest_safe_draw_at_most" in said) is doubtful
        assert (reason is not None) is doubtful


@pytest.mark.parametrize("columns", [True, False], ids=["in columns", "one by one"])
@pytest.mark.parametrize(
    ("check", "draw", "growth", "words"),
    [
        pytest.param(stops_some, 21, 2, "stops this arrow at a draw of 23.0 in", id="grows into"),
        pytest.param(stops_some, 21, 0.25, None, id="grows up to"),
        pytest.param(stops_some, 25, 2, None, id="is past"),
        pytest.param(doubts_short, 18.5, 2, None, id="grows away"),
        pytest.param(only_grows, 25, 2, None, id="stops far draws alone"),
        pytest.param(only_grows, 28, 2, "stops this arrow at a draw of 30.0 in", id="too far"),
        pytest.param(None, 25, 2, None, id="no local rule"),
    ],
)
def test_a_length_to_buy_holds_while_the_draw_grows(check, draw, growth, words, columns):
    one = ClubArcher(id="a", archer=model.archer(draw, growth_allowance=growth * INCH), bow=RECURVE)
    request = kit_lengths.Request(archers=(one,), most_lengths=1)
    said = kit_lengths.answer(request, context(check, columns))
    (length,) = said["lengths"]
    (minimum,) = said["minimums"]
    assert ("length_at_least" in length) is (words is not None)
    assert said["status"] == ("determinate" if words is None else "indeterminate")
    assert (minimum["verdict"] == "indeterminate") is (words is not None)
    reasons = [one["reason"] for one in said["unevaluated"]]
    assert [words in reason for reason in reasons] == ([] if words is None else [True])


def test_what_is_left_to_grow_is_less_once_the_draw_has_grown():
    def asks_for_growth(case):
        yield rules.floor(case.facts.draw + case.facts.growth + 2 * INCH, "Room to grow.")

    one = ClubArcher(id="a", archer=model.archer(25, growth_allowance=3 * INCH), bow=RECURVE)
    request = kit_lengths.Request(archers=(one,), most_lengths=1)
    said = kit_lengths.answer(request, context(asks_for_growth, True))
    assert said["status"] == "determinate"


@pytest.mark.parametrize("against", [False, True])
def test_without_columns_a_rule_is_asked_every_inch_until_it_objects(against):
    asked = []

    def check(case):
        asked.append(standard(case))
        return [rules.stop("No.")] if against and standard(case) < 20.1 else []

    made = Context(ruleset=with_rules(rule(check)), engine="test")
    _, reason = of_longest_draw(model.archer(26), made)
    below = {round(draw, 6) for draw in asked}
    inches = {at + 0.5 for at in range(14, 27)}
    halves = {at + 1.0 for at in range(14, 26)}
    assert inches <= below
    assert (halves <= below) is against
    assert (reason is not None) is against
