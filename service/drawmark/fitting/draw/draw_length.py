"""Draw length: conventions, the spread of many draws, the estimate from an arm span."""

from __future__ import annotations

import math
from functools import lru_cache

import msgspec
import numpy as np
from scipy.special import stdtr, stdtrit

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, alike, square_root
from drawmark.fitting.model import Archer, Bow, Fault, FittingError


class Spread(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What is known of the draws, to the pivot point.

    Parameters
    ----------
    mean : float or column
        Mean, or the one draw stated [m].
    longest : float or column
        The longest draw seen, or the longest that mean, deviation and count allow [m].
    deviation : float, column or None
        Standard deviation from shot to shot [m].
    count : float, column or None
        Number of draws behind the deviation.
    estimated : bool
        The mean comes from the arm span.
    seen : float, column or None
        The longest of six or more draws, where the draws themselves were given [m].
    """

    mean: Real
    longest: Real
    deviation: Real | None
    count: Real | None
    estimated: bool
    seen: Real | None = None

    @property
    def telling(self) -> bool:
        """Enough draws to say something about their spread; alike throughout a column."""
        return self.count is not None and alike(self.count >= limits.SPREAD_COUNT)


def offset_of(convention: str, bow: Bow) -> Real:
    """Give what a convention adds to the draw to the pivot point.

    Parameters
    ----------
    convention : str
        One of `model.CONVENTIONS`.
    bow : Bow
        The bow; `to_back` needs its `back_position` [m].

    Returns
    -------
    float or column
        Convention's figure less the draw to the pivot point [m].

    Raises
    ------
    FittingError
        If `to_back` is used without a back position.

    References
    ----------
    .. [1] amo-draw-length
    """
    if convention == "standard":
        return limits.STANDARD_OFFSET
    if convention == "to_pivot":
        return 0.0
    if bow.back_position is None:
        raise FittingError(
            Fault(
                path=("bow", "back_position"),
                detail=(
                    "This is needed: the draw is measured to the back of the bow, so its place "
                    "must be known."
                ),
            )
        )
    return bow.back_position


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
        If the convention is missing or cannot be applied, or nothing tells the draw.
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
    offset = offset_of(archer.draw_length_convention, bow)
    if archer.draws is not None:
        return _measured(archer.draws, offset)
    assert archer.draw_length is not None
    return _stated(archer, archer.draw_length - offset, estimated=False)


def _stated(archer: Archer, mean: Real, *, estimated: bool) -> Spread:
    deviation, count = archer.draw_variation, archer.draw_count
    longest = mean
    if deviation is not None and count is not None:
        # Samuelson's inequality: no sample of n lies further from its mean.
        longest = mean + deviation * (count - 1) / square_root(count)
    return Spread(mean=mean, longest=longest, deviation=deviation, count=count, estimated=estimated)


def _measured(draws: tuple[Real, ...], offset: Real) -> Spread:
    count = len(draws)
    mean, deviation, longest = _sample(draws)
    return Spread(
        mean=mean - offset,
        longest=longest - offset,
        deviation=deviation if count > 1 else None,
        count=float(count) if count > 1 else None,
        estimated=False,
        seen=longest - offset if count >= limits.SPREAD_COUNT else None,
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


@lru_cache(maxsize=1024)
def _factor(count: float) -> float:
    return float(stdtrit(count - 1, limits.PREDICTION_LEVEL)) * math.sqrt(1 + 1 / count)


def prediction_factor(count: Real) -> Real:
    """Give k(n): the next draw exceeds mean + k(n) s in 1.35 of a thousand.

    Parameters
    ----------
    count : float or column
        Number of draws, 2 or more [1].

    Returns
    -------
    float or column
        Student's t quantile (one-sided, 99.865 %) times sqrt(1 + 1/n) [1].

    References
    ----------
    .. [1] prediction-interval
    """
    if isinstance(count, np.ndarray):
        counts, places = np.unique(count, return_inverse=True)
        return np.array([_factor(float(n)) for n in counts])[places]
    return _factor(count)


def exceedance_per_thousand(limit: Real, mean: Real, deviation: Real, count: Real) -> Real:
    """Predict how many of a thousand draws go beyond a limit.

    Parameters
    ----------
    limit : float or column
        Draw not to be exceeded [m].
    mean : float or column
        Mean of the measured draws [m].
    deviation : float or column
        Standard deviation of the measured draws [m].
    count : float or column
        Number of measured draws [1].

    Returns
    -------
    float or column
        Expected number in a thousand draws, if they are normal [1].

    References
    ----------
    .. [1] prediction-interval
    """
    # Identical draws have no spread to divide by; a micrometre stands for it.
    scale = (deviation + limits.TOLERANCE) * square_root(1 + 1 / count)
    share = stdtr(count - 1, (mean - limit) / scale)
    return 1000.0 * np.asarray(share, np.float64) if np.ndim(share) else 1000.0 * float(share)
