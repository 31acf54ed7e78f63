"""The marks of a saw's scale."""

from __future__ import annotations

from typing import overload

from drawmark.fitting.columns import Real, maximum, rounded_down, rounded_up
from drawmark.fitting.limits import TOLERANCE


@overload
def round_up(length: float, increment: float | None) -> float: ...
@overload
def round_up(length: Real, increment: Real | None) -> Real: ...
def round_up(length: Real, increment: Real | None) -> Real:
    """Round a length up to the saw's increment.

    Parameters
    ----------
    length : float or column
        Length [m].
    increment : float, column or None
        Saw's increment [m]; None leaves the length as it is.

    Returns
    -------
    float or column
        Length on the saw's scale, never shorter than the length [m].
    """
    if increment is None:
        return length
    return maximum(length, rounded_up((length - TOLERANCE) / increment) * increment)


@overload
def round_down(length: float, increment: float | None) -> float: ...
@overload
def round_down(length: Real, increment: Real | None) -> Real: ...
def round_down(length: Real, increment: Real | None) -> Real:
    """Round a length down to the saw's increment.

    Parameters
    ----------
    length : float or column
        Length [m].
    increment : float, column or None
        Saw's increment [m]; None leaves the length as it is.

    Returns
    -------
    float or column
        Length on the saw's scale, longer by no more than the tolerance [m].
    """
    if increment is None:
        return length
    return rounded_down((length + TOLERANCE) / increment) * increment
