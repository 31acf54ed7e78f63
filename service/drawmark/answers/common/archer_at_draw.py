"""An archer at another draw, and the facts there."""

from __future__ import annotations

import dataclasses
import math
from typing import Any, Final

from msgspec.structs import replace

from drawmark.fitting.draw.draw_length import offset_of
from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.model import Archer, Bow, Fitting

_SETTERS: Final = [
    (field.name, getattr(Archer, field.name).__set__) for field in dataclasses.fields(Archer)
]


def _change(archer: Archer, **changes: Any) -> Archer:
    """Replace fields in half the time of `dataclasses.replace`; every draw tried needs it."""
    changed = object.__new__(Archer)
    for name, set_field in _SETTERS:
        set_field(changed, changes[name] if name in changes else getattr(archer, name))
    return changed


def is_estimate(archer: Archer) -> bool:
    """Tell whether the draw is known only from the arm span, which shows no control."""
    return archer.draw_length is None and archer.draws is None and archer.arm_span is not None


def drawing(archer: Archer, bow: Bow, draw: float) -> Archer:
    """Let an archer draw to a mean to the pivot point [m], with the spread that was measured.

    Where an arm span alone told the draw, the archer has no control of it.
    """
    convention = "to_pivot"
    if archer.draw_length_convention == "to_back" and bow.back_position is None:
        # The pivot point is no better known at this draw than at the archer's own.
        convention = "to_back"
        draw += float(offset_of(convention, bow))
    draws = archer.draws
    if draws is not None:
        shift = draw - math.fsum(draws) / len(draws)
        draws = tuple([one + shift for one in draws])
    return _change(
        archer,
        draw_length=draw if draws is None else None,
        draws=draws,
        arm_span=None,
        draw_length_convention=convention,
        draw_control="none" if is_estimate(archer) else archer.draw_control,
    )


def facts_at(draw: float, facts: Facts, fitting: Fitting) -> Facts:
    """Give the facts of a fitting at a draw to the pivot point [m].

    `facts` are those of the same archer and bow at any other draw.
    """
    if fitting.bow is not None and fitting.bow.draw_weight_basis == "at_28":
        return facts_of(fitting)
    return replace(facts, draw=draw, longest_draw=facts.longest_draw - facts.draw + draw)
