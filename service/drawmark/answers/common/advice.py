"""What to do with the arrow at hand."""

from __future__ import annotations

from typing import Final, Literal

from drawmark.answers.common.minimum import minimum_length_of
from drawmark.fitting import limits
from drawmark.fitting.model import Arrow
from drawmark.fitting.window import Window
from drawmark.rules.outcome import Outcome

NO_LENGTH: Final = (
    "no length is both safe and within reach: move the blade forward, extend the clicker or mount "
    "it on the sight, choose a longer arrow, or look at the local rules' ceilings"
)


_TOO_SHORT: Final = "shorter than the minimum safe length: it must not be drawn"


Advice = Literal["cut_to", "leave_uncut", "too_short", "no_common_length", "as_is"]


def is_short(arrow: Arrow | None, outcome: Outcome) -> bool:
    """Tell whether the arrow at hand is shorter than the minimum."""
    length = None if arrow is None else arrow.length
    return length is not None and bool(limits.shorter(length, minimum_length_of(outcome)))


def advise(outcome: Outcome, window: Window, arrow: Arrow | None) -> tuple[Advice, str]:
    """Advise on the arrow at hand, or on a new shaft: one of five words, and why."""
    facts = outcome.facts
    length = None if arrow is None else arrow.length
    if is_short(arrow, outcome):
        return "too_short", f"{_TOO_SHORT}; {NO_LENGTH}" if window.empty else _TOO_SHORT
    if window.empty:
        return "no_common_length", NO_LENGTH
    if not outcome.determinate:
        return "leave_uncut", "a rule that may ask for more length could not be evaluated"
    if facts.estimated:
        return "leave_uncut", "the draw is an estimate from the arm span: measure it first"
    if length is not None and not limits.longer(length, window.longest):
        if limits.shorter(length, window.shortest):
            return "as_is", "safe, and shorter than usual: nothing can be cut"
        return "as_is", "within the recommended window"
    ceilings = [float(placed.said.length) for placed in outcome.ceilings]
    if ceilings and not limits.longer(min(ceilings), window.longest):
        return "leave_uncut", "longer than a local rule allows, which is no advice to cut"
    if facts.unshown:
        return "leave_uncut", "the claimed control of the draw is not shown by its fields"
    if not window.on_saw:
        return "leave_uncut", "no mark of the saw lies within the window"
    if facts.control in ("clicker", "draw_stop") or facts.growth_given:
        if length is None:
            return "cut_to", "no arrow's length was given: this is where to stop with a new shaft"
        return "cut_to", "longer than the window: cut in steps, shoot, and stop at the figure"
    if length is None:
        return (
            "leave_uncut",
            "no arrow's length was given, nor a growth allowance: keep a new shaft longer than "
            "the window, and cut only when shooting asks for it",
        )
    return (
        "leave_uncut",
        "longer than the window is safe; no growth allowance was stated and no tune is known, "
        "and a cut cannot be undone: cut only when shooting asks for it",
    )
