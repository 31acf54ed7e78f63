"""What a cut does to stiffness: both states from the parts, with sources and cautions."""

from __future__ import annotations

import pytest

from builders.wire import arrow, q
from drawmark.answers.common import cautions, measured_mass
from drawmark.fitting.sources import SOURCES

CUT = {"changes": {"length": q(28.5)}}


def test_measured_figures_are_left_aside_before_and_after(ask):
    _, parts = ask("spine", {"arrow": arrow(), **CUT})
    measured = arrow(mass=q(420, "gr"), balance_point=q(15.5))
    _, answer = ask("spine", {"arrow": measured, **CUT})
    assert (answer["before"], answer["after"]) == (parts["before"], parts["after"])
    assert {measured_mass.MASS, measured_mass.BALANCE} <= set(answer["cautions"])
    assert {"arrow.mass", "arrow.balance_point"} <= {one["field"] for one in answer["assumptions"]}


def test_each_figure_names_its_source(ask):
    _, answer = ask("spine", {"arrow": arrow(), **CUT})
    assert {one["source"] for one in answer["derivation"]} <= {
        source.key for source in SOURCES.values()
    }


BOW = {
    "kind": "recurve",
    "draw_weight": q(30, "lbf"),
    "draw_weight_basis": "own_draw",
}


@pytest.mark.parametrize("bow", [{}, {"bow": BOW}], ids=["no bow", "a draw weight"])
def test_only_figures_of_the_answer_are_derived(ask, bow):
    _, answer = ask("spine", {"arrow": arrow(), **bow, **CUT})
    figures = {one["figure"] for one in answer["derivation"]}
    states = answer["before"] | answer["after"]
    for figure in figures:
        at = states
        for name in figure.split("."):
            at = at[name]
    assert figures >= {"static_spine", "equivalent_static_spine.launch"}
    assert ("launch_load" in figures) is bool(bow)


LOADS = {cautions.WEAK, cautions.FAR_TOO_WEAK}


def loaded(force, share):
    """A bow that pushes with so much of a critical launch force."""
    return {
        "kind": "recurve",
        "draw_weight": {**force, "value": share * force["value"]},
        "draw_weight_basis": "own_draw",
    }


@pytest.mark.parametrize(
    ("share", "said"),
    [
        pytest.param(1.0, set(), id="stiff enough"),
        pytest.param(1.799, set(), id="below the caution"),
        pytest.param(1.801, {cautions.WEAK}, id="past the caution"),
        pytest.param(2.199, {cautions.WEAK}, id="below the stop"),
        pytest.param(2.201, {cautions.FAR_TOO_WEAK}, id="past the stop"),
        pytest.param(3.3, {cautions.FAR_TOO_WEAK}, id="far past it"),
    ],
)
def test_a_high_launch_load_is_never_a_bare_number(ask, share, said):
    _, alone = ask("spine", {"arrow": arrow()})
    bow = loaded(alone["before"]["critical_launch_force"], share)
    _, answer = ask("spine", {"arrow": arrow(), "bow": bow})
    assert answer["before"]["launch_load"] == pytest.approx(share, abs=2e-4)
    assert LOADS & set(answer["cautions"]) == said


@pytest.mark.parametrize(
    ("share", "said"), [(1.801, cautions.WEAK), (2.201, cautions.FAR_TOO_WEAK)], ids=["weak", "far"]
)
@pytest.mark.parametrize(
    ("changes", "weaker", "other"),
    [
        pytest.param({"length": q(25.5)}, "before", "after", id="a cut stiffens"),
        pytest.param({"point_mass": q(180, "gr")}, "after", "before", id="a heavy point weakens"),
    ],
)
def test_the_weaker_of_both_states_is_warned_of(ask, changes, weaker, other, share, said):
    body = {"arrow": arrow(), "changes": changes}
    _, alone = ask("spine", body)
    bow = loaded(alone[weaker]["critical_launch_force"], share)
    _, answer = ask("spine", {**body, "bow": bow})
    assert answer[other]["launch_load"] < 0.95 * answer[weaker]["launch_load"]
    assert LOADS & set(answer["cautions"]) == {said}


def test_steps_are_of_the_present_parts(ask):
    """A table of cuts is of the arrow as it is: another point changes no line of it."""
    step = {"step": q(0.5)}
    _, cuts = ask("spine", {"arrow": arrow(), **CUT, **step})
    both = {"changes": {**CUT["changes"], "point_mass": q(120, "gr")}}
    _, changed = ask("spine", {"arrow": arrow(), **both, **step})
    assert [one["length"] for one in cuts["steps"]] == [q(29), q(28.5)]
    assert cuts["steps"][-1] == cuts["after"]
    assert changed["steps"] == cuts["steps"]
    assert changed["after"]["mass"]["value"] == pytest.approx(cuts["after"]["mass"]["value"] + 30)
    assert changed["after"] != changed["steps"][-1]


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        pytest.param({"step": q(0.5)}, "#/changes/length", id="a table to nowhere"),
        pytest.param({"available_points": [q(100, "gr")]}, "#/changes", id="points for nothing"),
    ],
)
def test_what_would_be_left_unused_is_refused(ask, more, pointer):
    status, answer = ask("spine", {"arrow": arrow(), **more})
    assert (status, [one["pointer"] for one in answer["errors"]]) == (422, [pointer])


def test_a_static_spine_that_a_cut_makes_untestable_is_named(ask):
    tapered = arrow(30)
    tapered["shaft"]["stations"] = [
        {"position": q(at), "relative_stiffness": stiff, "relative_mass": 1}
        for at, stiff in ((0, 0.8), (15, 1.0), (30, 0.9))
    ]
    _, answer = ask("spine", {"arrow": tapered, "changes": {"length": q(27)}})
    assert "static_spine" not in answer["after"]
    assert any("28 in span" in one["what"] for one in answer["not_checked"])


STATIONS = [{"position": q(at), "relative_stiffness": 1, "relative_mass": 1} for at in (0, 10, 30)]


@pytest.mark.parametrize(
    ("stations", "cuts"), [(None, 200), (STATIONS, 30)], ids=["uniform", "tapered"]
)
def test_a_table_has_so_many_cuts(ask, stations, cuts):
    kind = arrow(30)
    kind["shaft"] |= {"stations": stations} if stations else {}
    body = {"arrow": kind, "step": q(0.05), "changes": {"length": q(30.01 - cuts * 0.05)}}
    status, answer = ask("spine", body)
    assert (status, len(answer.get("steps", ()))) == (200, cuts)
    status, answer = ask("spine", {**body, "changes": {"length": q(29.9 - cuts * 0.05)}})
    assert (status, answer["errors"][0]["pointer"]) == (422, "#/step")
    assert f"more than {cuts} cuts" in answer["errors"][0]["detail"]
