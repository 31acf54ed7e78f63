"""What a cut does to stiffness: both states from the parts, with sources and cautions."""

from __future__ import annotations

import pytest

from answers.bodies import grain, inch, shaft
from drawmark.answers import cautions, measured
from drawmark.fitting.sources import SOURCES

CUT = {"changes": {"length": inch(28.5)}}


def test_measured_figures_are_left_aside_before_and_after(ask):
    _, parts = ask("spine", {"arrow": shaft(), **CUT})
    arrow = shaft(mass=grain(420), balance_point=inch(15.5))
    _, answer = ask("spine", {"arrow": arrow, **CUT})
    assert (answer["before"], answer["after"]) == (parts["before"], parts["after"])
    assert {measured.MASS, measured.BALANCE} <= set(answer["cautions"])
    assert {"arrow.mass", "arrow.balance_point"} <= {one["field"] for one in answer["assumptions"]}


def test_each_figure_names_its_source(ask):
    _, answer = ask("spine", {"arrow": shaft(), **CUT})
    assert {one["source"] for one in answer["derivation"]} <= {
        source.key for source in SOURCES.values()
    }


BOW = {
    "kind": "recurve",
    "draw_weight": {"value": 30, "unit": "lbf"},
    "draw_weight_basis": "own_draw",
}


@pytest.mark.parametrize("bow", [{}, {"bow": BOW}], ids=["no bow", "a draw weight"])
def test_only_figures_of_the_answer_are_derived(ask, bow):
    _, answer = ask("spine", {"arrow": shaft(), **bow, **CUT})
    figures = {one["figure"] for one in answer["derivation"]}
    states = answer["before"] | answer["after"]
    for figure in figures:
        at = states
        for name in figure.split("."):
            at = at[name]
    assert figures >= {"static_spine", "equivalent_static_spine.launch"}
    assert ("launch_load" in figures) is bool(bow)


@pytest.mark.parametrize(
    ("pounds", "said"),
    [
        pytest.param(20, None, id="stiff enough"),
        pytest.param(44, cautions.WEAK, id="weak"),
        pytest.param(75, cautions.FAR_TOO_WEAK, id="far too weak"),
    ],
)
def test_a_high_launch_load_is_never_a_bare_number(ask, pounds, said):
    bow = {
        "kind": "recurve",
        "draw_weight": {"value": pounds, "unit": "lbf"},
        "draw_weight_basis": "own_draw",
    }
    _, answer = ask("spine", {"arrow": shaft(), "bow": bow, **CUT})
    loads = {cautions.WEAK, cautions.FAR_TOO_WEAK}
    assert loads & set(answer["cautions"]) == ({said} if said else set()), answer["before"]


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        pytest.param({"step": inch(0.5)}, "#/changes/length", id="a table to nowhere"),
        pytest.param({"available_points": [grain(100)]}, "#/changes", id="points for nothing"),
    ],
)
def test_what_would_be_left_unused_is_refused(ask, more, pointer):
    status, answer = ask("spine", {"arrow": shaft(), **more})
    assert (status, [one["pointer"] for one in answer["errors"]]) == (422, [pointer])


def test_a_static_spine_that_a_cut_makes_untestable_is_named(ask):
    arrow = shaft(30)
    arrow["shaft"]["stations"] = [
        {"position": inch(at), "relative_stiffness": stiff, "relative_mass": 1}
        for at, stiff in ((0, 0.8), (15, 1.0), (30, 0.9))
    ]
    _, answer = ask("spine", {"arrow": arrow, "changes": {"length": inch(27)}})
    assert "static_spine" not in answer["after"]
    assert any("28 in span" in one["what"] for one in answer["not_checked"])
