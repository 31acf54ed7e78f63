"""The marks of a saw's scale, and of any other in equal steps from zero."""

from __future__ import annotations

from drawmark.fitting.columns import Real, maximum, rounded_down, rounded_up
from drawmark.fitting.limits import TOLERANCE


def steps_up(length: Real, increment: Real, tolerance: float = TOLERANCE) -> Real:
    """Count the steps from zero to the first mark that is no shorter than a length.

    Parameters
    ----------
    length : float or column
        Length [m].
    increment : float or column
        Step of the scale [m].
    tolerance : float
        How far below the length the mark may lie [m].

    Returns
    -------
    float or column
        Number of steps [1].
    """
    return rounded_up((length - tolerance) / increment)


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
    return maximum(length, steps_up(length, increment) * increment)


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
