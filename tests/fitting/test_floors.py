"""Floors and the inverse, as tables in inches."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders.model import CLICKER, POINT, archer, facts
from drawmark.fitting.draw.spread import allowance_for_spread
from drawmark.fitting.faults import FittingError
from drawmark.fitting.floors import floors_of, minimum_of
from drawmark.fitting.model import Archer, Arrow, Bow, Point
from drawmark.fitting.sources import SOURCES
from drawmark.fitting.units import INCH

SPREAD = {"draw_variation": 0.2 * INCH, "draw_count": 12}
MM6, MM10 = 0.006 / INCH, 0.010 / INCH


@pytest.mark.parametrize(
    ("who", "bow", "arrow", "floors"),
    [
        pytest.param(
            archer(),
            None,
            None,
            {"bow-back": 29.0, "rest-retention": 28.5 + MM10, "hand": 27.25},
            id="none, one draw",
        ),
        pytest.param(
            archer(growth_allowance=1 * INCH),
            None,
            None,
            {"bow-back": 30.0, "rest-retention": 29.5 + MM10, "hand": 28.25},
            id="none, growth",
        ),
        pytest.param(
            archer(draw_variation=0.0, draw_count=6),
            None,
            None,
            {"bow-back": 29.0, "rest-retention": 28.5 + MM10, "hand": 27.25},
            id="none, spread within an inch",
        ),
        pytest.param(
            archer(),
            Bow(kind="recurve", rest_position=1.5 * INCH),
            None,
            {"bow-back": 29.0, "rest-retention": 26.25 + 1 + 1.5 + 0.5, "hand": 27.25},
            id="none, a rest that is known",
        ),
        pytest.param(
            archer(draw_control="settled", draw_variation=0.001 * INCH, draw_count=12),
            None,
            None,
            {"rest-retention": 28.5 + MM10, "hand": 26.25 + MM10},
            id="settled, least variation",
        ),
        pytest.param(
            archer(draw_control="clicker", growth_allowance=1 * INCH),
            CLICKER,
            Arrow(point=POINT),
            {"rest-retention": 26.25 + 0.75 + MM6, "hand": 26.25 + MM6},
            id="clicker, without growth",
        ),
        pytest.param(
            archer(draw_control="draw_stop"),
            Bow(kind="compound"),
            None,
            {"rest-retention": 28.5 + MM6, "hand": 26.25 + MM6},
            id="draw stop",
        ),
        pytest.param(
            archer(draw_control="draw_stop"),
            None,
            None,
            {"bow-back": 29.0, "rest-retention": 28.5 + MM10, "hand": 27.25},
            id="draw stop on a recurve counts as none",
        ),
        pytest.param(
            archer(draw_control="clicker"),
            None,
            None,
            {"bow-back": 29.0, "rest-retention": 28.5 + MM10, "hand": 27.25},
            id="clicker without its fields counts as none",
        ),
        pytest.param(
            Archer(arm_span=70 * INCH),
            None,
            None,
            {"bow-back": 33.0, "rest-retention": 32.5 + MM10, "hand": 31.25},
            id="arm span, 4 in more",
        ),
        pytest.param(
            archer(draw_length_convention="to_pivot", draw_length=26.25 * INCH),
            None,
            None,
            {"bow-back": 29.0, "rest-retention": 28.5 + MM10, "hand": 27.25},
            id="to the pivot point",
        ),
        pytest.param(
            archer(draw_length_convention="to_back", draw_length=28.5 * INCH),
            Bow(kind="longbow", back_position=2.25 * INCH),
            None,
            {"bow-back": 29.5, "rest-retention": 29.0 + MM10, "hand": 27.25},
            id="to a deep grip's back",
        ),
        pytest.param(
            archer(draw_length_convention="to_back", draw_length=27.5 * INCH),
            Bow(kind="recurve", back_position=0.5 * INCH),
            None,
            {"bow-back": 28.5, "rest-retention": 28.0 + MM10, "hand": 28.0},
            id="to a shallow grip's back",
        ),
        pytest.param(
            archer(draw_length_convention="to_back", draw_length=28 * INCH),
            Bow(kind="recurve", rest_position=0.25 * INCH),
            None,
            {"bow-back": 29.0, "rest-retention": 28.5 + MM10, "hand": 27.25},
            id="to a back that is not known: the rest may lie there",
        ),
    ],
)
def test_floors(who, bow, arrow, floors):
    found = {floor.id: floor.length / INCH for floor in floors_of(facts(who, bow, arrow))}
    assert found == pytest.approx(floors, abs=1e-9)


def in_mm(control, count, deviation=10):
    """V in inches, of a spread in millimetres."""
    base = {"none": 0.0254, "settled": 0.010}[control]
    return allowance_for_spread(base, deviation / 1000, float(count)) / INCH


@pytest.mark.parametrize("count", [2, 5, 6, 12, 30])
def test_a_measured_spread_counts_whatever_the_number_of_draws(count):
    who = archer(draw_variation=0.010, draw_count=count)
    found = {floor.id: floor.length / INCH for floor in floors_of(facts(who))}
    assert found == pytest.approx(
        {
            "bow-back": 28 + in_mm("none", count),
            "rest-retention": 28.5 + in_mm("settled", count),
            "hand": 26.25 + in_mm("none", count),
        }
    )


@pytest.mark.parametrize(
    ("draws", "least"),
    [
        # mean, and V of the deviation: none of them is shorter than a draw that was seen
        pytest.param((28.0,), 29.0, id="one is like a stated draw"),
        pytest.param((27.9, 28.0, 28.1), 29.0, id="three alike are worth an inch"),
        pytest.param((28.0,) * 29 + (29.5,), 28.05 + 0.5 + 1.45, id="one that was far longer"),
    ],
)
def test_no_draw_that_was_seen_is_forgotten(draws, least):
    found = facts(
        Archer(draws=tuple(one * INCH for one in draws), draw_length_convention="standard")
    )
    assert found.draw / INCH == pytest.approx(sum(draws) / len(draws) - 1.75)
    assert minimum_of(found) / INCH == pytest.approx(least)


DRAWS = st.lists(st.floats(0.60, 0.80), min_size=2, max_size=20)


def least_of(draws):
    return minimum_of(facts(Archer(draws=tuple(draws), draw_length_convention="standard")))


@given(DRAWS)
def test_a_further_draw_at_the_mean_never_raises_the_minimum(draws):
    assert least_of([*draws, sum(draws) / len(draws)]) <= least_of(draws) + 1e-9


@given(DRAWS)
def test_the_same_draws_measured_twice_never_raise_the_minimum(draws):
    assert least_of([*draws, *draws]) <= least_of(draws) + 1e-9


@given(DRAWS, st.floats(0.0, 0.1))
def test_a_longest_draw_that_was_longer_never_lowers_the_minimum(draws, more):
    *others, longest = sorted(draws)
    assert least_of([*others, longest + more]) >= least_of(draws) - 1e-9


def test_sleeve_is_added_to_the_arrow():
    arrow = Arrow(length=30 * INCH, point=Point(sleeve_length=0.5 * INCH))
    assert minimum_of(facts(arrow=arrow)) / INCH == pytest.approx(29.5)


@pytest.mark.parametrize(
    ("who", "fields"),
    [
        (Archer(draw_length=0.7), ("draw_length_convention",)),
        (Archer(), ("draw_length",)),
        (archer(draw_count=12), ("draw_variation",)),
    ],
)
def test_fault_names_the_field(who, fields):
    with pytest.raises(FittingError) as caught:
        facts(who)
    assert tuple(fault.path[-1] for fault in caught.value.faults) == fields


@pytest.mark.parametrize(
    "who",
    [
        pytest.param(archer(), id="none"),
        pytest.param(archer(**SPREAD, growth_allowance=INCH), id="spread and growth"),
        pytest.param(Archer(arm_span=70 * INCH), id="arm span"),
    ],
)
def test_every_term_of_a_floor_has_a_source(who):
    known = {*SOURCES, None}  # nothing stands behind a growth that was not given
    for floor in floors_of(facts(who)):
        assert {term.source for term in floor.terms} <= known
        assert floor.length == pytest.approx(sum(term.value for term in floor.terms))


DRAW = st.floats(0.4, 1.0)
SMALL = st.floats(0.0, 0.05)


@given(DRAW, DRAW, SMALL, SMALL)
def test_longer_draw_and_more_growth_never_lower_the_minimum(first, second, grown, more):
    def minimum(draw, growth):
        return minimum_of(facts(archer(draw_length=draw, growth_allowance=growth)))

    low, high = sorted((first, second))
    assert minimum(low, grown) <= minimum(high, grown)
    assert minimum(low, grown) <= minimum(low, grown + more)


@given(SMALL, SMALL, st.sampled_from(["none", "settled"]), st.integers(12, 100))
def test_more_variation_never_lowers_the_minimum(first, second, control, count):
    low, high = (
        minimum_of(facts(archer(draw_control=control, draw_variation=spread, draw_count=count)))
        for spread in sorted((first, second))
    )
    assert low <= high


def test_column_gives_what_single_figures_give():
    draws = np.array([0.65, 0.7, 0.75])
    column = minimum_of(facts(archer(draw_length=draws, growth_allowance=0.0 * draws)))
    singles = [
        minimum_of(facts(archer(draw_length=float(one), growth_allowance=0.0))) for one in draws
    ]
    assert column.tolist() == singles


def test_facts_are_frozen():
    with pytest.raises(AttributeError):
        facts().draw = 0.0


@given(
    rest=st.none() | st.floats(-0.15, 0.15),
    spread=st.one_of(
        st.just({}), st.builds(lambda s: {"draw_variation": s, "draw_count": 12}, SMALL)
    ),
    claim=st.sampled_from(["settled", "clicker", "draw_stop"]),
)
def test_no_control_never_gives_a_shorter_minimum_than_some(rest, spread, claim):
    """Wherever the rest stands, known or not: it may lie ahead of the back of the bow."""
    bow = Bow(kind="compound", rest_position=rest, clicker_range=CLICKER.clicker_range)
    arrow = Arrow(point=POINT)
    least, controlled = (
        minimum_of(facts(archer(draw_control=one, **spread), bow, arrow)) for one in ("none", claim)
    )
    assert controlled <= least


@pytest.mark.parametrize(
    ("who", "bow", "floor", "term", "source"),
    [
        pytest.param(
            archer(),
            None,
            1,
            "rest position, taken as the back of the bow",
            "amo-draw-length",
            id="rest not given",
        ),
        pytest.param(
            archer(),
            Bow(kind="recurve", rest_position=0.0),
            1,
            "rest position",
            "request",
            id="rest given",
        ),
        pytest.param(
            archer(),
            Bow(kind="longbow", back_position=0.06),
            0,
            "back of the bow",
            "request",
            id="back given",
        ),
        pytest.param(
            archer(), None, 0, ("growth allowance (not given)"), None, id="growth not given"
        ),
        pytest.param(
            archer(draw_variation=0.02, draw_count=12),
            None,
            1,
            "spread of the draw",
            "spread-prediction",
            id="spread measured",
        ),
        pytest.param(
            archer(draw_control="settled", draw_variation=0.02, draw_count=12),
            None,
            0,
            "spread of the draw",
            "spread-prediction",
            id="settled, spread measured",
        ),
        pytest.param(archer(), None, 1, "spread of the draw", "project-margin", id="least spread"),
        pytest.param(archer(), None, 0, "spread of the draw", "margin-one-inch", id="an inch"),
        pytest.param(
            archer(draw_variation=0.02, draw_count=12),
            None,
            0,
            "spread of the draw",
            "spread-prediction",
            id="spread beyond an inch",
        ),
        pytest.param(
            Archer(arm_span=70 * INCH),
            None,
            0,
            "draw estimated from the arm span",
            "arm-span",
            id="arm span",
        ),
    ],
)
def test_source_of_a_term(who, bow, floor, term, source):
    found = {one.name: one.source for one in floors_of(facts(who, bow))[floor].terms}
    assert found[term] == source
