"""Trees that are alike in columns, and taken out of them again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from answers.club.people import archers
from drawmark.answers.club.pairs import Shooter
from drawmark.rules.column_trees import group_alike, picker, stack_alike, take


@dataclass(frozen=True)
class Leaf:
    figure: float | None = None
    word: str = "w"
    listed: tuple[float, ...] | None = None


def test_groups_keep_figures_together_and_all_else_apart():
    trees = [
        Leaf(figure=1.0),
        Leaf(figure=2.0),
        Leaf(),
        Leaf(figure=3.0, word="v"),
        Leaf(figure=3.0, listed=(1.0,)),
        Leaf(figure=4.0, listed=(2.0,)),
        Leaf(figure=5.0, listed=(2.0, 3.0)),
    ]
    groups = [places.tolist() for places in group_alike(trees)]
    assert groups == [[0, 1], [2], [3], [4, 5], [6]]


def test_a_figure_that_all_share_stays_one():
    stacked = stack_alike([Leaf(figure=1.0), Leaf(figure=1.0)])
    assert stacked.figure == 1.0
    assert take(stacked, np.array([1, 0, 1])).figure == 1.0


@settings(max_examples=100)
@given(st.lists(archers(), min_size=1, max_size=6))
def test_what_is_taken_out_is_what_was_put_in(both):
    trees = [Shooter(archer=archer, bow=bow, local={}) for archer, bow in both]
    groups = group_alike(trees)
    assert sorted(place for places in groups for place in places.tolist()) == list(
        range(len(trees))
    )
    for places in groups:
        own = [trees[place] for place in places]
        order = np.arange(len(own))[::-1]
        taken = take(stack_alike(own), order)
        pick_archer, pick_bow = picker(taken.archer), picker(taken.bow)
        for at, place in enumerate(order):
            assert pick_archer(at) == own[place].archer
            assert pick_bow(at) == own[place].bow


@pytest.mark.parametrize("place", [0, 1])
def test_dictionaries_are_taken_by_name(place):
    trees = [{"a": Leaf(figure=1.0)}, {"a": Leaf(figure=2.0)}]
    assert take(stack_alike(trees), np.array([place]))["a"].figure.tolist() == [1.0 + place]
    assert len(group_alike([*trees, {"b": Leaf(figure=1.0)}])) == 2
