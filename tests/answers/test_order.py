"""Orders: totals balance, nothing in doubt is cut, nothing is longer than its stock."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from answers.cuttings import (
    ARCHER,
    ARROW,
    BOW,
    CLICKER,
    CLICKER_BOW,
    CONTEXT,
    CORE,
    FIGURE,
    PROJECTION,
    texts_of,
)
from drawmark import rules
from drawmark.answers import order
from drawmark.answers.common.context import Context
from drawmark.answers.cutting.set_length import OrderSet
from drawmark.fitting.faults import FittingError
from drawmark.fitting.model import Archer, Fitting
from drawmark.fitting.units import INCH, POUND_FORCE, UNITS
from drawmark.rules.evaluate import evaluate
from rules.bench import plugin, rule, ruleset, says
from rules.zoo import zoos

pytestmark = pytest.mark.usefixtures("patience")

STOCK = 32 * INCH
UNSTATED = dataclasses.replace(ARCHER, growth_allowance=None)
# A coach leaves a growing archer's set uncut: it would be too short within the season.
GROWING = dataclasses.replace(ARCHER, growth_allowance=0.5 * INCH)
SPAN = Archer(arm_span=1.60)


def one(**changes):
    given_ = {
        "id": "Imke",
        "shaft": "lake 600",
        "archer": ARCHER,
        "bow": BOW,
        "arrow": ARROW,
        "shafts": 6,
        "stock_length": STOCK,
    }
    return OrderSet(**(given_ | changes))


def listed(**changes):
    return one(archer=None, bow=None, **changes)


def ask(*sets, context=CONTEXT, saw_increment=None):
    return order.answer(order.Request(sets=sets, saw_increment=saw_increment), context)


def lines(answer):
    return [
        (round(line["arrow_length"].value / INCH, 3), line["uncut"], line["count"])
        for line in answer["lines"]
    ]


WHOLE = round(32 + PROJECTION / INCH, 3)
ABSENT = Context(ruleset=ruleset(CORE, missing=["house-rules"]))


@pytest.mark.parametrize(
    ("made", "expected"),
    [
        pytest.param([one()], [(29.25, False, 6)], id="no growth to come: cut to the figure"),
        pytest.param([one(spares=3)], [(29.25, False, 9)], id="spares"),
        pytest.param([one(archer=GROWING)], [(WHOLE, True, 6)], id="may grow: uncut"),
        pytest.param(
            [one(archer=GROWING, wanted_length=30 * INCH)],
            [(30.0, False, 6)],
            id="may grow, a wanted length",
        ),
        pytest.param([one(archer=UNSTATED)], [(WHOLE, True, 6)], id="no growth stated: uncut"),
        pytest.param([one(test_shafts=2)], [(WHOLE, True, 6)], id="length still to be found"),
        pytest.param(
            [one(test_shafts=2, wanted_length=30 * INCH)],
            [(30.0, False, 2), (WHOLE, True, 4)],
            id="test shafts to a wanted length",
        ),
        pytest.param([one(archer=SPAN)], [(WHOLE, True, 6)], id="arm span only"),
        pytest.param(
            [one(archer=CLICKER, bow=CLICKER_BOW)],
            # midway between 26 + 6 mm + 0.5 + 0.5, and 26 + 3 in less the point
            [(round((27 + 29 + (0.006 - 0.018) / INCH) / 2, 3), False, 6)],
            id="clicker",
        ),
        pytest.param([one(stock_length=FIGURE - PROJECTION)], [(29.25, True, 6)], id="as it is"),
        pytest.param([listed(wanted_length=25 * INCH)], [(25.0, False, 6)], id="a listed length"),
        pytest.param(
            [one(), one(id="Joris", shafts=3), listed(id="rack", wanted_length=FIGURE, shafts=1)],
            [(29.25, False, 10)],
            id="grouped",
        ),
        pytest.param(
            [one(), one(id="Joris", shaft="lake 700")],
            [(29.25, False, 6), (29.25, False, 6)],
            id="other shafts stay apart",
        ),
        pytest.param(
            [one(), one(id="Joris", stock_length=33 * INCH)],
            [(29.25, False, 6), (29.25, False, 6)],
            id="other stock stays apart",
        ),
    ],
)
def test_lines(made, expected):
    assert lines(ask(*made)) == expected


@pytest.mark.parametrize(
    ("archer", "wanted", "costly"),
    [
        pytest.param(ARCHER, 30 * INCH, False, id="longer than recommended"),
        pytest.param(ARCHER, 29 * INCH, True, id="shorter than recommended"),
        pytest.param(GROWING, 30 * INCH, True, id="the draw may grow"),
    ],
)
def test_wanted_length_says_what_it_costs(archer, wanted, costly):
    for tests, cut in ((0, 6), (2, 2)):
        (made,) = ask(one(archer=archer, wanted_length=wanted, test_shafts=tests))["sets"]
        assert made["cut"] == cut
        assert ("cannot be undone" in made["reason"]) is costly


def test_line_names_whose_it_is_and_what_to_saw():
    (line,) = ask(one(), one(id="Joris"))["lines"]
    assert line["sets"] == ["Imke", "Joris"]
    assert line["arrow_length"].value - line["tube_length"].value == pytest.approx(PROJECTION)
    assert line["arrow_length"].up
    assert line["tube_length"].up


def test_shaft_without_a_name_is_called_by_its_spine():
    (line,) = ask(one(shaft=""))["lines"]
    assert line["shaft"] == "static spine 600"
    (line,) = ask(one(shaft="", arrow=None))["lines"]
    assert line["shaft"] == "shaft without a name"


@pytest.mark.parametrize(
    ("made", "pointer", "detail"),
    [
        (one(wanted_length=33 * INCH), "wanted_length", "longer than the stock gives"),
        (one(wanted_length=27 * INCH), "wanted_length", "shorter than the minimum safe length"),
        (one(stock_length=28 * INCH), "stock_length", "shorter than the minimum safe length"),
        (listed(wanted_length=33 * INCH), "wanted_length", "longer than the stock gives"),
        (one(bow=None), "bow", "This is needed beside the archer."),
        (one(archer=Archer(), wanted_length=30 * INCH), "archer.draw_length", "needed"),
    ],
)
def test_what_cannot_be_ordered_points_at_its_set(made, pointer, detail):
    with pytest.raises(FittingError) as caught:
        ask(one(), made)
    (fault,) = caught.value.faults
    assert fault.path == ("sets", 1, *pointer.split("."))
    assert detail in fault.detail


def test_sets_are_looked_at_only_until_enough_faults_are_found():
    asked = []
    counts = plugin(rule(lambda case: asked.append(case.arrow.length) or []))
    context = Context(ruleset=ruleset(CORE, counts))
    short = one(stock_length=28 * INCH)
    with pytest.raises(FittingError) as caught:
        ask(*[short] * 10, context=context)
    assert len(caught.value.faults) == 10
    each = len(asked) // 10
    asked.clear()
    with pytest.raises(FittingError) as caught:
        ask(*[short] * order.MOST_SETS, context=context)
    assert len(caught.value.faults) == order.MOST_FAULTS
    assert len(asked) == each * order.MOST_FAULTS


@pytest.mark.parametrize(
    "context",
    [
        ABSENT,
        Context(ruleset=ruleset(CORE, plugin(rule(lambda case: 1 / 0)))),
        Context(ruleset=ruleset(CORE, plugin(rule(says(rules.floor(float("nan"), "none")))))),
    ],
    ids=["missing", "raises", "nonsense"],
)
@pytest.mark.parametrize("wanted", [None, 30 * INCH])
def test_archer_in_doubt_is_never_ordered_cut(context, wanted):
    answer = ask(one(wanted_length=wanted), context=context)
    assert lines(answer) == [(WHOLE, True, 6)]
    assert answer["status"] == "indeterminate"
    (made,) = answer["sets"]
    assert "minimum_at_least" in made
    assert answer["unevaluated"]


def test_local_inputs_of_one_archer_are_theirs_alone():
    seen = []

    @dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
    class Inputs:
        margin: float = rules.length(0.0, 0.2, "Margin.", default=0.0)

    def check(case):
        seen.append(None if case.inputs is None else case.inputs.margin)
        return ()

    context = Context(ruleset=ruleset(CORE, plugin(rule(check, inputs=Inputs), name="hall")))
    ask(one(local={"hall": Inputs(margin=0.1)}), one(id="Joris"), context=context)
    assert 0.1 in seen
    assert any(margin != 0.1 for margin in seen)


def test_nothing_is_cut_where_the_saw_has_no_mark_in_the_window():
    """Marks at 28 1/2 and 30.4 in, between them a window from 28 3/4 to 29 3/4 in."""
    answer = ask(one(), saw_increment=1.9 * INCH)
    assert lines(answer) == [(WHOLE, True, 6)]
    assert answer["sets"][0]["reason"] == (
        "No multiple of `saw_increment` lies within the recommended range. Give a smaller one."
    )


def test_minimum_of_a_set_is_the_one_that_was_judged():
    (found,) = ask(one(), saw_increment=0.5 * INCH)["sets"]
    figures = [found[name].value / INCH for name in ("minimum", "minimum_on_saw")]
    assert figures == pytest.approx([28.75, 29.0])


def test_length_nobody_checked_is_said():
    answer = ask(listed(id="rack", wanted_length=25 * INCH))
    assert any("rack" in entry["what"] for entry in texts_of(answer["not_checked"]))
    assert "minimum" not in answer["sets"][0]


archers = st.one_of(
    st.builds(
        Archer,
        draw_length=st.floats(0.5, 0.8),
        draw_length_convention=st.just("standard"),
        growth_allowance=st.none() | st.floats(0.0, 0.03),
        draw_control=st.sampled_from(["none", "settled", "clicker"]),
    ),
    st.just(SPAN),
)
made_sets = st.builds(
    one,
    id=st.text(max_size=5),
    shaft=st.sampled_from(["lake 600", "lake 700", ""]),
    archer=archers,
    bow=st.sampled_from([BOW, CLICKER_BOW]),
    shafts=st.integers(1, 200),
    spares=st.integers(0, 20),
    test_shafts=st.sampled_from([0, 0, 0, 2, 24]),
    wanted_length=st.none() | st.floats(0.85, 0.95),
    stock_length=st.floats(0.96, 1.1),
)


def order_of(made, context, increment=None):
    """Answer, or None where a set of these cannot be ordered at all."""
    request = order.Request(sets=tuple(made), saw_increment=increment)
    try:
        return order.answer(request, context)
    except FittingError as error:
        if any("shorter than the minimum" not in fault.detail for fault in error.faults):
            raise
        return None


increments = st.sampled_from([None, 0.001, INCH / 4])


@settings(max_examples=80)
@given(st.lists(made_sets, min_size=1, max_size=5), zoos | st.just([]), increments)
def test_totals_balance(made, zoo, increment):
    answer = order_of(made, Context(ruleset=ruleset(CORE, *zoo)), increment)
    if answer is None:
        return
    asked = sum(each.shafts + each.spares for each in made)
    uncut = sum(line["count"] for line in answer["lines"] if line["uncut"])
    assert answer["total"] == sum(line["count"] for line in answer["lines"]) == asked
    assert answer["total_uncut"] == uncut == sum(said["uncut"] for said in answer["sets"])
    for each, said in zip(made, answer["sets"], strict=True):
        assert said["cut"] + said["uncut"] == each.shafts + each.spares
    for line in answer["lines"]:
        tube, stock = line["tube_length"].value, line["stock_length"].value
        assert tube == pytest.approx(stock) if line["uncut"] else tube < stock


@settings(max_examples=80)
@given(made_sets, zoos | st.just([]), increments)
def test_no_archer_is_ordered_an_arrow_below_a_floor(made, zoo, increment):
    chosen = ruleset(CORE, *zoo)
    answer = order_of([made], Context(ruleset=chosen), increment)
    if answer is None or answer["sets"][0]["cut"] == 0:
        return
    assert made.archer is not SPAN
    (length,) = (line["arrow_length"].value for line in answer["lines"] if not line["uncut"])
    fitting = Fitting(
        archer=made.archer, bow=made.bow, arrow=dataclasses.replace(ARROW, length=length)
    )
    outcome = evaluate(fitting, chosen)
    assert outcome.determinate
    assert length >= outcome.minimum_usable - 1e-6


def few(*draws):
    return Archer(
        draws=tuple(draw * INCH for draw in draws),
        draw_length_convention="to_pivot",
        growth_allowance=0.0,
    )


def bow_of(pounds):
    return dataclasses.replace(BOW, draw_weight=pounds * POUND_FORCE)


@pytest.mark.parametrize(
    ("changes", "verdict", "rule", "uncut"),
    [
        pytest.param({}, "pass", None, False, id="it may be shot"),
        pytest.param({"bow": bow_of(50)}, "caution", "launch-load", False, id="weak"),
        pytest.param({"bow": bow_of(65)}, "stop", "launch-load", True, id="far too weak"),
        pytest.param(
            {"bow": bow_of(65), "wanted_length": FIGURE},
            "stop",
            "launch-load",
            True,
            id="far too weak, as wanted",
        ),
    ],
)
def test_nothing_is_ordered_cut_that_may_not_be_shot(changes, verdict, rule, uncut):
    answer = ask(one(**changes))
    (said,) = answer["sets"]
    assert (said["verdict"], said["cut"] == 0) == (verdict, uncut)
    assert bool(said["findings"]) == bool(rule)
    assert rule in {None, *(found["rule"] for found in said["findings"])}
    assert ("fit check" in said["reason"]) == uncut
    assert answer["total_uncut"] == (6 if uncut else 0)


def test_nothing_is_ordered_cut_on_few_draws_that_vary_widely():
    answer = ask(one(archer=few(26, 27)))
    (said,) = answer["sets"]
    assert said["cut"] == 0
    assert "Measure six or more draws before any cut" in said["reason"]
    assert {found["rule"] for found in said["findings"]} == {"few-draws"}


def test_shafts_to_be_shot_first_are_checked_as_they_come():
    """585 spine, 34 in long: far too weak for 45 lbf, and strong enough at the figure."""
    shaft = dataclasses.replace(ARROW.shaft, static_spine=float(UNITS["astm"].to_si(585.0)))
    test = one(
        bow=bow_of(50),
        arrow=dataclasses.replace(ARROW, shaft=shaft),
        stock_length=34 * INCH,
        test_shafts=3,
    )
    answer = ask(test)
    (said,) = answer["sets"]
    assert (said["cut"], said["uncut"]) == (0, 6)
    assert said["verdict"] == "stop"
    assert "launch-load" in {found["rule"] for found in said["findings"]}
