"""Answers in SI to JSON with units, at the wire's resolution."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

import msgspec

from drawmark.fitting.columns import Real, absolute
from drawmark.fitting.limits import RELATIVE_TOLERANCE, TOLERANCE
from drawmark.fitting.units import UNITS
from drawmark.rules.model import Measure

DEFAULT_UNITS: Final = {
    "length": "mm",
    "distance": "m",
    "mass": "g",
    "force": "N",
    "mass_per_length": "g/m",
    "frequency": "Hz",
    "static_spine": "astm",
}
_SCALES: Final = {
    unit.symbol: (unit.factor, unit.reciprocal, unit.decimals, 10**unit.decimals)
    for unit in UNITS.values()
}
PLAIN: Final = {"number": 4, "percent": 2}


class NotFiniteError(ArithmeticError):
    """A figure that is not finite must not leave the service."""


def render(tree: Any, units: Mapping[str, str]) -> Any:
    """Give every measure of an answer its unit, in place; NotFiniteError if one is not finite."""
    for place, value in tree.items() if type(tree) is dict else enumerate(tree):
        kind = type(value)
        if kind is str:  # most are
            continue
        if kind is Measure:
            tree[place] = _figure(value, units)
        elif (kind is dict or kind is list) and value:
            render(value, units)
    return tree


def slack_of(kind: str, figure: Real, factor: Real) -> Real:
    """Give how far past a step a figure may lie, in its unit, and still count as on it.

    As much as the tolerance of all comparisons: a minimum is not rounded up for less than that.
    """
    return TOLERANCE / factor if kind == "length" else absolute(figure) * RELATIVE_TOLERANCE


def _figure(measure: Measure, units: Mapping[str, str]) -> Any:
    value = float(measure.value)
    if not math.isfinite(value):
        raise NotFiniteError
    kind = measure.kind
    decimals = PLAIN.get(kind)
    if decimals is not None:
        return round(value, decimals)
    symbol = units.get(kind) or DEFAULT_UNITS[kind]
    factor, reciprocal, decimals, scale = _SCALES[symbol]
    figure = factor / value if reciprocal else value / factor
    if measure.up or measure.down:
        slack = slack_of(kind, figure, factor)
        whole = (
            math.ceil((figure - slack) * scale)
            if measure.up
            else math.floor((figure + slack) * scale)
        )
        return {"value": whole / scale, "unit": symbol}
    return {"value": round(figure, decimals) + 0.0, "unit": symbol}


def decoded(part: Any) -> Any:
    """Decode a part that is the same in many answers, and therefore kept encoded."""
    return msgspec.json.decode(part) if isinstance(part, msgspec.Raw) else part
