"""Figures in the units in which a plugin's author thinks."""

from __future__ import annotations

from typing import Final

from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE, UNITS

_MILLIMETRE: Final = 0.001
_GRAM: Final = 0.001


def mm(figure: float) -> float:
    """Give millimetres as a length [m]."""
    return figure * _MILLIMETRE


def inches(figure: float) -> float:
    """Give inches as a length [m]."""
    return figure * INCH


def grams(figure: float) -> float:
    """Give grams as a mass [kg]."""
    return figure * _GRAM


def grains(figure: float) -> float:
    """Give grains as a mass [kg]."""
    return figure * GRAIN


def newtons(figure: float) -> float:
    """Give newtons as a force [N]."""
    return float(figure)


def pounds_force(figure: float) -> float:
    """Give pounds-force as a force [N]."""
    return figure * POUND_FORCE


def grams_per_metre(figure: float) -> float:
    """Give grams for each metre as a mass per length [kg/m]."""
    return figure * _GRAM


def grains_per_inch(figure: float) -> float:
    """Give grains for each inch as a mass per length [kg/m]."""
    return figure * GRAIN / INCH


def spine_astm(figure: float) -> float:
    """Give a spine such as 500 (28 in span, 1.94 lb) as a static spine, which is E I [N m^2].

    A larger figure is a weaker shaft, so its static spine is smaller.
    """
    return float(UNITS["astm"].to_si(figure))


def spine_wood(figure: float) -> float:
    """Give a wood spine in pounds (26 in span, 2 lb) as a static spine, which is E I [N m^2]."""
    return float(UNITS["wood-lb"].to_si(figure))
