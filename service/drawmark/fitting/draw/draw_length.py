"""Draw length: conventions, what several draws tell, the estimate from an arm span."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from drawmark.fitting import limits
from drawmark.fitting.columns import Real
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.model import Archer, Bow


class Spread(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What is known of the draws, to the pivot point.

    Parameters
    ----------
    mean : float or column
        Mean, or the one draw stated [m].
    deviation : float, column or None
        Standard deviation from shot to shot [m].
    count : float, column or None
        Number of draws behind the deviation.
    seen : float, column or None
        The longest draw, where the draws themselves were given [m].
    estimated : bool
        The mean comes from the arm span.
    slack : float
        How much longer than the mean the draw may be, since the place of the bow's back, to
        which it was measured, is not known [m].
    """

    mean: Real
    deviation: Real | None
    count: Real | None
    seen: Real | None = None
    estimated: bool = False
    slack: float = 0.0

    def grown(self, growth: Real) -> Spread:
        """Give the same spread about a draw that has grown [m]."""
        seen = None if self.seen is None else self.seen + growth
        return msgspec.structs.replace(self, mean=self.mean + growth, seen=seen)


def back_of(bow: Bow) -> Real:
    """Give the x of the bow's back [m]: where it was measured, else the largest usual place."""
    return limits.STANDARD_OFFSET if bow.back_position is None else bow.back_position


def offset_of(convention: str, bow: Bow) -> Real:
    """Give what a convention adds to the draw to the pivot point.

    Parameters
    ----------
    convention : str
        One of `model.CONVENTIONS`.
    bow : Bow
        The bow, for `to_back`; without its `back_position` 1 3/4 in is taken [m].

    Returns
    -------
    float or column
        Convention's figure less the draw to the pivot point [m].

    References
    ----------
    .. [1] amo-draw-length
    """
    if convention == "standard":
        return limits.STANDARD_OFFSET
    return 0.0 if convention == "to_pivot" else back_of(bow)


def estimate_from_arm_span(arm_span: Real) -> Real:
    """Estimate the draw to the pivot point from the arm span.

    Parameters
    ----------
    arm_span : float or column
        Fingertip to fingertip [m].

    Returns
    -------
    float or column
        Draw to the pivot point [m].

    References
    ----------
    .. [1] arm-span
    .. [2] amo-draw-length
    """
    return arm_span / limits.ARM_SPAN_RATIO - limits.STANDARD_OFFSET


def spread_of(archer: Archer, bow: Bow) -> Spread:
    """Work out what is known of the draws.

    Parameters
    ----------
    archer : Archer
        With one of draw_length, draws or arm_span [m].
    bow : Bow
        The bow, for its `back_position` [m].

    Returns
    -------
    Spread
        Mean, longest, deviation and count, to the pivot point.

    Raises
    ------
    FittingError
        If the convention is missing, or nothing tells the draw.
    """
    if archer.draw_length is None and archer.draws is None:
        if archer.arm_span is None:
            raise FittingError(
                Fault(
                    path=("archer", "draw_length"),
                    detail="This is needed: give draw_length, draws or, as an estimate, arm_span.",
                )
            )
        return _stated(archer, estimate_from_arm_span(archer.arm_span), estimated=True)
    if archer.draw_length_convention is None:
        raise FittingError(
            Fault(
                path=("archer", "draw_length_convention"),
                detail="This is needed: the same draw differs by 1 3/4 in between conventions.",
            )
        )
    convention = archer.draw_length_convention
    offset = offset_of(convention, bow)
    slack = 0.0
    if convention == "to_back" and bow.back_position is None:
        slack = limits.STANDARD_OFFSET
    if archer.draws is not None:
        return _measured(archer.draws, offset, slack)
    assert archer.draw_length is not None
    return _stated(archer, archer.draw_length - offset, slack=slack)


def _stated(archer: Archer, mean: Real, *, estimated: bool = False, slack: float = 0.0) -> Spread:
    return Spread(
        mean=mean,
        deviation=archer.draw_variation,
        count=archer.draw_count,
        estimated=estimated,
        slack=slack,
    )


def _measured(draws: tuple[Real, ...], offset: Real, slack: float) -> Spread:
    count = len(draws)
    mean, deviation, longest = _sample(draws)
    return Spread(
        mean=mean - offset,
        deviation=deviation if count > 1 else None,
        count=float(count) if count > 1 else None,
        seen=longest - offset,
        slack=slack,
    )


def _sample(draws: tuple[Real, ...]) -> tuple[Real, Real, Real]:
    """Mean, deviation and longest of draws, or of columns of draws [m]."""
    if not any(isinstance(draw, np.ndarray) for draw in draws):
        return _sample_of_one(tuple(map(float, draws)))
    rows = np.stack(np.broadcast_arrays(*draws), axis=1)
    # An archer who is compared with many arrows fills as many rows, one after the other.
    first = np.append(True, (rows[1:] != rows[:-1]).any(axis=1))
    found = np.array([_sample_of_one(tuple(row)) for row in rows[first].tolist()])
    mean, deviation, longest = found[np.cumsum(first) - 1].T.copy()
    return mean, deviation, longest


def _sample_of_one(draws: tuple[float, ...]) -> tuple[float, float, float]:
    count = len(draws)
    mean = math.fsum(draws) / count
    spread = math.fsum((draw - mean) ** 2 for draw in draws)
    return mean, math.sqrt(spread / (count - 1)) if count > 1 else 0.0, max(draws)
