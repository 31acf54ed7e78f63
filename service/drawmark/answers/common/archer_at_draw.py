"""An archer at another draw, and the facts there."""

from __future__ import annotations

import dataclasses
import math

from msgspec.structs import replace

from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.model import Archer, Fitting


def is_estimate(archer: Archer) -> bool:
    """Tell whether an arm span is all that tells the draw: it shows no control of the draw."""
    return archer.draw_length is None and archer.draws is None and archer.arm_span is not None


def drawing(archer: Archer, draw: float) -> Archer:
    """Let an archer draw to a mean, with the spread that was measured.

    Parameters
    ----------
    archer : Archer
        Of single draws only how they lie about their mean is used.
    draw : float
        Mean draw to the pivot point [m].

    Returns
    -------
    Archer
        Without an arm span; where that alone told the draw, without control of it.
    """
    draws = archer.draws
    if draws is not None:
        shift = draw - math.fsum(draws) / len(draws)
        draws = tuple([one + shift for one in draws])
    return dataclasses.replace(
        archer,
        draw_length=draw if draws is None else None,
        draws=draws,
        arm_span=None,
        draw_length_convention="to_pivot",
        draw_control="none" if is_estimate(archer) else archer.draw_control,
    )


def facts_at(draw: float, facts: Facts, fitting: Fitting) -> Facts:
    """Give the facts of a fitting at another draw.

    Parameters
    ----------
    draw : float
        Draw to the pivot point [m].
    facts : Facts
        Of the same fitting at any draw; its control does not hang on the draw.
    fitting : Fitting
        The fitting at that draw.

    Returns
    -------
    Facts
        As `facts_of` gives.
    """
    if fitting.bow is not None and fitting.bow.draw_weight_basis == "at_28":
        return facts_of(fitting)
    return replace(facts, draw=draw, mean_draw=draw, longest_draw=draw)
