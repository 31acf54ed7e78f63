"""An archer at another draw, and the facts there."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import Any, Final

from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.model import Archer, Fitting


def _changer(cls: type, *names: str) -> Callable[..., Any]:
    """Make what `dataclasses.replace` does to some fields, in one expression: searches need it."""
    kept = (field.name for field in dataclasses.fields(cls) if field.name not in names)
    arguments = [f"{name}=old.{name}" for name in kept] + [f"{name}={name}" for name in names]
    made: Callable[..., Any] = eval(
        f"lambda old, {', '.join(names)}: cls({', '.join(arguments)})", {"cls": cls}
    )
    return made


_STATED: Final = ("draw_length", "draws", "arm_span", "draw_length_convention")
_with_draw: Final = _changer(Archer, *_STATED)
_with_draws_at: Final = _changer(Facts, "draw", "mean_draw")


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
        Without an arm span.
    """
    if archer.draws is None:
        return _with_draw(archer, draw, None, None, "to_pivot")  # type: ignore[no-any-return]
    shift = draw - math.fsum(archer.draws) / len(archer.draws)
    draws = tuple([one + shift for one in archer.draws])
    return _with_draw(archer, None, draws, None, "to_pivot")  # type: ignore[no-any-return]


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
    return _with_draws_at(facts, draw, draw)  # type: ignore[no-any-return]
