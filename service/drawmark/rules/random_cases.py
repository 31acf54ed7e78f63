"""Random fittings, settings and inputs, drawn from the declared ranges of their fields."""

from __future__ import annotations

import dataclasses
import random
from typing import Any, Final, TypeVar

import numpy as np

from drawmark.fitting.field_kinds import Figure, Part, Plain, Spec, Whole
from drawmark.fitting.fields import is_required, spec_of, specs_of
from drawmark.fitting.model import Archer, Arrow, Bow, ClickerRange, Fitting

_Instance = TypeVar("_Instance")
_GIVEN: Final = 0.6
_MOST_TRIES: Final = 100


def random_instance(cls: type[_Instance], rng: random.Random, size: int = 0) -> _Instance:
    """Draw a declared dataclass; with a size, its single figures are columns of that length."""
    for _ in range(_MOST_TRIES):
        values = {
            field.name: _value(spec_of(field), rng, size)
            for field in dataclasses.fields(cls)  # type: ignore[arg-type]
            if is_required(field) or rng.random() < _GIVEN
        }
        try:
            return cls(**values)
        except ValueError:
            continue
    raise AssertionError(f"no random {cls.__name__} is valid")


def random_fitting(rng: random.Random, size: int = 0) -> Fitting:
    """Draw a fitting whose fields stand together; with a size, a column of them."""
    archer: Any = random_instance(Archer, rng, size)
    bow: Any = random_instance(Bow, rng, size)
    arrow: Any = random_instance(Arrow, rng, size)
    draws: dict[str, Any] = {"draw_length_convention": archer.draw_length_convention or "standard"}
    if archer.draw_length is not None or archer.draws is None:
        draws["draws"] = None
        draws["draw_length"] = _drawn(Archer, "draw_length", rng, size)
    if draws.get("draws", archer.draws) is not None or archer.draw_count is None:
        draws["draw_variation"] = draws["draw_count"] = None
    elif archer.draw_variation is None:
        draws["draw_variation"] = _drawn(Archer, "draw_variation", rng, size)
    if archer.measured_on is not None:
        today = archer.today
        draws["measured_on"] = None if today is None else min(archer.measured_on, today)
    bows: dict[str, Any] = {}
    if bow.draw_weight is None:
        bows["draw_weight_basis"] = None
    elif bow.draw_weight_basis is None:
        bows["draw_weight_basis"] = "own_draw"
    if (clicker := bow.clicker_range) is not None:
        ends = np.minimum(clicker.near, clicker.far), np.maximum(clicker.near, clicker.far)
        near, far = ends if size else map(float, ends)
        bows["clicker_range"] = ClickerRange(near=near, far=far)
    arrows: dict[str, Any] = {"shaft": arrow.shaft}
    if arrow.shaft is not None:
        arrows["shaft"] = dataclasses.replace(arrow.shaft, stations=None)
    vanes = arrow.fletching
    if vanes is not None and (vanes.rear_edge is None or vanes.length is None):
        arrows["fletching"] = None
    return Fitting(
        archer=dataclasses.replace(archer, **draws),
        bow=dataclasses.replace(bow, **bows),
        arrow=dataclasses.replace(arrow, **arrows),
    )


def _drawn(cls: type, name: str, rng: random.Random, size: int) -> Any:
    return _value(specs_of(cls)[name], rng, size)


def _value(spec: Spec, rng: random.Random, size: int) -> Any:
    if spec.most is not None:
        count = rng.randint(spec.fewest or 0, min(spec.most, (spec.fewest or 0) + 12))
        return tuple(_value(spec.single, rng, 0) for _ in range(count))
    if isinstance(spec, Part):
        return random_instance(spec.cls, rng, size)
    assert isinstance(spec, Plain)
    if size and isinstance(spec, Figure):
        dtype = np.int64 if isinstance(spec, Whole) else np.float64
        return np.array([spec.random(rng) for _ in range(size)], dtype=dtype)
    return spec.random(rng)
