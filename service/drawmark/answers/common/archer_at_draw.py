"""An archer at another draw, and the facts there."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import Any, Final

from msgspec.structs import replace

from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.model import Archer, Fitting


def _changer(cls: type, *names: str) -> Callable[..., Any]:
    """Make what `dataclasses.replace` does to some fields of a frozen class with slots.

    Searches call it for each draw they try, so it sets each slot by its descriptor. The result
    is as sound as the original: no class here checks fields against each other.
    """
    assert not hasattr(cls, "__post_init__")
    fields = [field.name for field in dataclasses.fields(cls)]
    lines = [f"set_{name}(new, {name if name in names else f'old.{name}'})" for name in fields]
    body = "\n ".join(["new = make(cls)", *lines, "return new"])
    known: dict[str, Any] = {f"set_{name}": getattr(cls, name).__set__ for name in fields}
    known |= {"cls": cls, "make": object.__new__}
    exec(f"def change(old, {', '.join(names)}):\n {body}", known)
    made: Callable[..., Any] = known["change"]
    return made


_STATED: Final = ("draw_length", "draws", "arm_span", "draw_length_convention", "draw_control")
_with_draw: Final = _changer(Archer, *_STATED)


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
    control = "none" if is_estimate(archer) else archer.draw_control
    if archer.draws is None:
        return _with_draw(archer, draw, None, None, "to_pivot", control)  # type: ignore[no-any-return]
    shift = draw - math.fsum(archer.draws) / len(archer.draws)
    draws = tuple([one + shift for one in archer.draws])
    return _with_draw(archer, None, draws, None, "to_pivot", control)  # type: ignore[no-any-return]


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
