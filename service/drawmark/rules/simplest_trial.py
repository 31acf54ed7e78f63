"""Makes a trial that fails as simple as it can be."""

from __future__ import annotations

import dataclasses
import math
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any, Final

from drawmark.fitting.field_kinds import Figure, Part
from drawmark.fitting.fields import declared, is_required
from drawmark.rules.trial import PLAIN_ARCHER, Trial, changed_tree, is_computable

LONGEST_SEARCH: Final = 3.0
"""How long a smaller case is looked for [s]."""


def simplest(trial: Trial, fails: Callable[[Trial], bool]) -> Trial:
    """Leave out and round whatever can be, as long as it fails."""
    end = time.monotonic() + LONGEST_SEARCH
    simpler = True
    while simpler:
        simpler = False
        for candidate in _simpler(trial):
            if time.monotonic() > end:
                return trial
            if is_computable(candidate) and fails(candidate):
                trial, simpler = candidate, True
                break
    return trial


def _simpler(trial: Trial) -> Iterator[Trial]:
    if trial.inputs is not None:
        yield replace(trial, inputs=None)
        for inputs in _simpler_trees(trial.inputs):
            yield replace(trial, inputs=inputs)
    fitting = trial.fitting
    archer = fitting.archer
    assert archer is not None
    if archer != PLAIN_ARCHER:
        yield replace(trial, fitting=replace(fitting, archer=PLAIN_ARCHER))
    bow = fitting.bow
    if bow is not None and bow.kind != "recurve":
        yield replace(trial, fitting=replace(fitting, bow=replace(bow, kind="recurve")))
    if archer.draws is not None:
        mean = math.fsum(archer.draws) / len(archer.draws)
        plain = replace(archer, draws=None, draw_length=mean)
        yield replace(trial, fitting=replace(fitting, archer=plain))
    # Fields that are given together, or not at all.
    for part, pair in (
        ("archer", {"draw_variation": None, "draw_count": None}),
        ("bow", {"draw_weight": None, "draw_weight_basis": None}),
    ):
        tree: Any = getattr(fitting, part)
        if any(getattr(tree, name) is not None for name in pair):
            yield replace(trial, fitting=replace(fitting, **{part: replace(tree, **pair)}))
    if fitting.arrow is not None:
        yield replace(trial, fitting=replace(fitting, arrow=None))
    for part in ("arrow", "bow", "archer"):
        if (tree := getattr(fitting, part)) is not None:
            for simpler in _simpler_trees(tree):
                yield replace(trial, fitting=replace(fitting, **{part: simpler}))


def _simpler_trees(tree: Any) -> Iterator[Any]:
    cls: type = type(tree)
    for field in dataclasses.fields(tree):
        value = getattr(tree, field.name)
        if not is_required(field) and value != field.default:
            yield from _given(changed_tree(tree, field.name, field.default))
    for name, spec, _ in declared(cls):
        value = getattr(tree, name)
        if isinstance(spec, Part) and not spec.is_list and value is not None:
            for below in _simpler_trees(value):
                yield from _given(changed_tree(tree, name, below))
        elif isinstance(spec, Figure) and type(value) is float:
            for digits in (1, 2):
                rounded = float(f"{value:.{digits}g}")
                if rounded != value and spec.fault_in(rounded) is None:
                    yield from _given(changed_tree(tree, name, rounded))
                    break


def _given(tree: Any) -> Iterator[Any]:
    if tree is not None:
        yield tree
