"""Arithmetic that reads the same for one figure and for a column of figures.

Every formula of the fitting layer is written once. Given floats it answers with
floats; given numpy arrays of equal length it answers with arrays.
"""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Column: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]
Whole: TypeAlias = NDArray[np.int64]
Real: TypeAlias = float | Column
Truth: TypeAlias = bool | Mask


def maximum(first: Real, second: Real) -> Real:
    """Take the larger of two figures, element by element."""
    if isinstance(first, np.ndarray) or isinstance(second, np.ndarray):
        return np.maximum(first, second)
    return first if first >= second else second


def minimum(first: Real, second: Real) -> Real:
    """Take the smaller of two figures, element by element."""
    if isinstance(first, np.ndarray) or isinstance(second, np.ndarray):
        return np.minimum(first, second)
    return first if first <= second else second


def where(condition: Truth, yes: Real, no: Real) -> Real:
    """Choose between two figures, element by element."""
    if isinstance(condition, np.ndarray):
        return np.where(condition, yes, no)
    return yes if condition else no


def both(first: Truth, second: Truth) -> Truth:
    """Logical and, element by element."""
    if isinstance(first, np.ndarray) or isinstance(second, np.ndarray):
        return np.logical_and(first, second)
    return first and second


def either(first: Truth, second: Truth) -> Truth:
    """Logical or, element by element."""
    if isinstance(first, np.ndarray) or isinstance(second, np.ndarray):
        return np.logical_or(first, second)
    return first or second


def negate(condition: Truth) -> Truth:
    """Logical not, element by element."""
    return np.logical_not(condition) if isinstance(condition, np.ndarray) else not condition


def absolute(value: Real) -> Real:
    """Magnitude, element by element."""
    return np.abs(value) if isinstance(value, np.ndarray) else abs(value)


def square_root(value: Real) -> Real:
    """Square root, element by element."""
    return np.sqrt(value) if isinstance(value, np.ndarray) else math.sqrt(value)


def rounded_up(value: Real) -> Real:
    """Least whole number that is no smaller, element by element."""
    return np.ceil(value) if isinstance(value, np.ndarray) else float(math.ceil(value))


def rounded_down(value: Real) -> Real:
    """Greatest whole number that is no larger, element by element."""
    return np.floor(value) if isinstance(value, np.ndarray) else float(math.floor(value))


def any_true(condition: Truth) -> bool:
    """Tell whether a condition holds anywhere."""
    return bool(condition.any()) if isinstance(condition, np.ndarray) else condition


class MixedError(ValueError):
    """Raised where the items of a column differ in what they are, and not only in figures.

    Parameters
    ----------
    condition : mask or column of whole numbers
        What holds for some and not for others, or differs: parted by it they can be computed.

    Attributes
    ----------
    parts : list of mask
        The items in parts, those for which the condition holds first.
    """

    def __init__(self, condition: Mask | Whole) -> None:
        super().__init__("the items of a column differ in what they are: compute them apart")
        self.parts: list[Mask] = [condition == kind for kind in np.unique(condition)[::-1]]


def alike(condition: Truth) -> bool:
    """Tell whether a condition holds, the same for all; MixedError where items differ in it."""
    if not isinstance(condition, np.ndarray):
        return condition
    anywhere = bool(condition.any())
    if anywhere != bool(condition.all()):
        raise MixedError(condition)
    return anywhere
