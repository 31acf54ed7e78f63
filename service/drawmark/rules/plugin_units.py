"""Figures in the units in which a plugin's author thinks."""

from __future__ import annotations

from typing import Final

from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE

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
