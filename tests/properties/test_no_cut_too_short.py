"""Nobody is told to cut an arrow to where the fit check would not let it be shot."""

from __future__ import annotations

import dataclasses

import pytest

from answers.cuttings import ARCHER, ARROW, CONTEXT, FIGURE, ask, shot
from drawmark.answers.cutting.candidates import Candidates
from drawmark.fitting.model import Bow
from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE

STEADY = dataclasses.replace(ARCHER, growth_allowance=0.0)
WEAK = (shot(31.4 * INCH, 0.30), shot(31 * INCH, 0.26))
STIFF = (shot(31.4 * INCH, -0.50), shot(31 * INCH, -0.60))


def bow_of(pounds, least_grains=None):
    return Bow(
        kind="recurve",
        draw_weight=pounds * POUND_FORCE,
        draw_weight_basis="own_draw",
        minimum_arrow_mass=None if least_grains is None else least_grains * GRAIN,
    )


def verdicts(bow, *lengths):
    candidates = Candidates(archer=STEADY, bow=bow, arrow=ARROW, end="front", context=CONTEXT)
    return [candidates.at(length).outcome.verdict for length in lengths]


def rules_of(found):
    return {one["rule"] for one in found}


# The arrow weighs 336 gr at 31 in, and loses 7 gr an inch; the figure is 29.25 in.
@pytest.mark.parametrize(
    ("bow", "here", "there", "decision", "ends"),
    [
        pytest.param(bow_of(35), "pass", "pass", "cut", FIGURE, id="all of it may be shot"),
        pytest.param(bow_of(35, 330), "pass", "stop", "cut", 30.2 * INCH, id="too light later"),
        pytest.param(bow_of(35, 335), "pass", "stop", "at_the_floor", None, id="too light at once"),
        pytest.param(bow_of(35, 340), "stop", "stop", "indeterminate", None, id="too light now"),
        pytest.param(bow_of(57), "stop", "caution", "cut", FIGURE, id="too weak but at the end"),
        pytest.param(bow_of(65), "stop", "stop", "indeterminate", None, id="too weak to the end"),
    ],
)
@pytest.mark.parametrize("wanted", [{}, {"wanted_length": FIGURE}], ids=["recommended", "wanted"])
def test_a_first_plan_ends_where_the_arrow_may_be_shot(bow, here, there, decision, ends, wanted):
    assert verdicts(bow, 31 * INCH, FIGURE) == [here, there]
    answer = ask(archer=STEADY, bow=bow, **wanted)
    assert answer["decision"] == decision
    if ends is None:
        assert answer["steps"] == []
        assert "next_length" not in answer
    else:
        last = answer["steps"][-1]
        assert last["length"].value == pytest.approx(ends, abs=0.005)
        assert last["may_be_shot"]
    blocked = here == "pass" and there == "stop"
    assert ("blocked_at" in answer) == blocked
    if blocked:
        assert "blocked_at" in answer["reason"]
        assert rules_of(answer["blocked_at"]["findings"]) == {"maker-arrow-mass"}
        assert answer["blocked_at"]["length"].value < 31 * INCH


@pytest.mark.parametrize(
    ("bow", "decision"),
    [
        pytest.param(bow_of(35), "cut", id="it may"),
        pytest.param(bow_of(35, 335.5), "at_the_floor", id="too light"),
    ],
)
def test_a_cut_from_shots_ends_where_the_arrow_may_be_shot(bow, decision):
    answer = ask(*WEAK, archer=STEADY, bow=bow)
    assert answer["decision"] == decision
    assert all(step["may_be_shot"] for step in answer["steps"])
    assert ("blocked_at" in answer) == (decision == "at_the_floor")


@pytest.mark.parametrize(
    ("pounds", "refused"),
    [pytest.param(35, False, id="strong enough"), pytest.param(53, True, id="too weak")],
)
def test_a_longer_shaft_is_named_only_where_it_may_be_shot(pounds, refused):
    answer = ask(*STIFF, archer=STEADY, bow=bow_of(pounds))
    assert answer["decision"] == "already_too_stiff"
    (longer,) = (one for one in answer["remedies"] if one["kind"] == "longer_shaft")
    assert ("reason" in longer) == refused
    assert ("arrow_length" in longer) == (not refused)
    assert refused or longer["verdict"] in ("pass", "caution")


@pytest.mark.parametrize("largest", [3, 2, 1], ids=lambda value: f"{value} mm")
def test_a_plan_of_many_steps_ends_there_as_well(largest):
    bow = bow_of(30, 322)
    answer = ask(
        archer=STEADY,
        bow=bow,
        wanted_length=28.75 * INCH,
        largest_step=largest / 1000,
        smallest_step=0.001,
    )
    assert answer["decision"] == "cut"
    assert answer["reason"].startswith("Cut in these steps and no further")
    blocked = answer["blocked_at"]["length"].value
    assert verdicts(bow, blocked) == ["stop"]
    assert len(answer["steps"]) <= 24
    assert all(step["may_be_shot"] for step in answer["steps"])
    assert answer["steps"][-1]["length"].value > blocked
