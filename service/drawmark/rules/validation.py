"""Whether what a plugin's rule returned can be used.

A rule's answer is taken whole or not at all. Figures that numpy made are turned into floats.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from drawmark.rules.inspection import FURTHEST, Inspector, UnsoundError, is_plain
from drawmark.rules.model import Ceiling, Finding, Floor, Gift, Said

MOST_SAID: Final = 50
_GIFTS: Final[dict[type, Gift]] = {Floor: "floor", Ceiling: "ceiling", Finding: "finding"}
_SINGLE: Final = Inspector(None)


def sound(said: Sequence[object], gives: frozenset[Gift], size: int | None = None) -> list[Said]:
    """Check what a rule said.

    Parameters
    ----------
    said : sequence
        What the rule returned.
    gives : frozenset of Gift
        What the rule declares that it may say.
    size : int or None
        Length of the columns that it was asked about; None for a single case.

    Returns
    -------
    list of Said
        The same, with plain figures; what does not hold anywhere is left out.

    Raises
    ------
    UnsoundError
        At the first thing that cannot be used.
    """
    if len(said) > MOST_SAID:
        raise UnsoundError(f"said more than {MOST_SAID} things")
    inspector = _SINGLE if size is None else Inspector(size)
    good: list[Said] = []
    for one in said:
        if size is None and type(one) is Floor and is_plain(one) and "floor" in gives:
            good.append(one)
            continue
        gift = _GIFTS.get(type(one))
        if gift is None:
            raise UnsoundError(
                f"returned {type(one).__name__}, not a floor, a ceiling or a finding"
            )
        if gift not in gives:
            raise UnsoundError(f"said a {gift}, which it does not declare in `gives`")
        if one.when is False:  # type: ignore[attr-defined]
            continue
        checked = inspector.finding(one) if gift == "finding" else inspector.bound(one)
        if checked is not None:
            good.append(checked)
    return good


def floors_in(said: Sequence[object], gives: frozenset[Gift]) -> list[float]:
    """Give the lengths of the floors that a rule set for a single case, its words left aside.

    Parameters
    ----------
    said : sequence
        What the rule returned.
    gives : frozenset of Gift
        What the rule declares that it may say.

    Returns
    -------
    list of float
        Lengths [m].

    Raises
    ------
    UnsoundError
        If a figure cannot be used.
    """
    lengths: list[float] = []
    for one in said:
        if type(one) is not Floor or one.when is not True or type(one.length) is not float:
            return [
                float(sure.length)
                for sure in sound(said, gives)
                if isinstance(sure, Floor) and sure.when
            ]
        if not -FURTHEST <= one.length <= FURTHEST:
            raise UnsoundError(f"gave a length beyond {FURTHEST:g} m; rules speak in metres")
        lengths.append(one.length)
    if len(lengths) > MOST_SAID or (lengths and "floor" not in gives):
        raise UnsoundError("said more than it may")
    return lengths
