"""Answers in SI to JSON with units, at the wire's resolution."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from drawmark.fitting.limits import TOLERANCE
from drawmark.fitting.units import UNITS, Unit
from drawmark.rules.model import Measure

DEFAULT_UNITS: Final = {
    "length": "mm",
    "mass": "g",
    "force": "N",
    "mass_per_length": "g/m",
    "frequency": "Hz",
    "static_spine": "astm",
}
_PLAIN: Final = {"number": 4, "percent": 2}


class NotFiniteError(ArithmeticError):
    """A figure that is not finite must not leave the service."""


def render(tree: Any, units: Mapping[str, str]) -> Any:
    """Give every measure of an answer its unit.

    Parameters
    ----------
    tree : Any
        Answer of dictionaries, lists and plain values, with measures.
    units : mapping
        Dimensions to the symbols asked for; the default for those not named.

    Returns
    -------
    Any
        The same tree without measures.

    Raises
    ------
    NotFiniteError
        If a figure is not finite.
    """
    kind = type(tree)
    if kind is dict:
        return {name: render(value, units) for name, value in tree.items()}
    if kind is list:
        return [render(value, units) for value in tree]
    if kind is Measure:
        return _figure(tree, units)
    return tree


def _figure(measure: Measure, units: Mapping[str, str]) -> Any:
    value = float(measure.value)
    if not math.isfinite(value):
        raise NotFiniteError
    decimals = _PLAIN.get(measure.kind)
    if decimals is not None:
        return round(value, decimals)
    symbol = units.get(measure.kind) or DEFAULT_UNITS[measure.kind]
    return {"value": _rounded(value, UNITS[symbol], measure), "unit": symbol}


def _rounded(value: float, unit: Unit, measure: Measure) -> float:
    figure = float(unit.from_si(value))
    scale = 10**unit.decimals
    slack = TOLERANCE / unit.factor if measure.kind == "length" else abs(figure) * 1e-9
    if measure.up:
        return float(math.ceil((figure - slack) * scale) / scale)
    if measure.down:
        return float(math.floor((figure + slack) * scale) / scale)
    return float(round(figure, unit.decimals)) + 0.0
