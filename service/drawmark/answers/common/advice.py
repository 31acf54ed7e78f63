"""What to do with the arrow at hand."""

from __future__ import annotations

from typing import Final, Literal

from drawmark.answers.common.minimum import minimum_length_of
from drawmark.fitting import limits
from drawmark.fitting.model import Arrow
from drawmark.fitting.window import Window
from drawmark.rules.outcome import Outcome

NO_LENGTH: Final = (
    "No length is both safe and within reach. Move the blade forward, extend the clicker or "
    "mount it on the sight, choose a longer arrow, or look at the local rules' ceilings."
)
_TOO_SHORT: Final = "The arrow is shorter than the minimum safe length. It must not be drawn."
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
        return "too_short", f"{_TOO_SHORT} {NO_LENGTH}" if window.empty else _TOO_SHORT
    if window.empty:
        return "no_common_length", NO_LENGTH
    if not outcome.determinate:
        return (
            "leave_uncut",
            "A rule that may ask for more length could not be evaluated: see `unevaluated`.",
        )
    if facts.estimated:
        return "leave_uncut", "The draw is estimated from the arm span. Measure it first."
    if length is not None and not limits.longer(length, window.longest):
        if limits.shorter(length, window.shortest):
            return "as_is", "The arrow is safe and shorter than usual. Do not cut it."
        return "as_is", "The arrow is within the recommended window."
    ceilings = [float(placed.said.length) for placed in outcome.ceilings]
    if ceilings and not limits.longer(min(ceilings), window.longest):
        return (
            "leave_uncut",
            "The arrow is longer than a local rule allows. That alone is no reason to cut it.",
        )
    if facts.unshown:
        return (
            "leave_uncut",
            "The draw control that is claimed lacks fields: see `draw_control.missing`.",
        )
    if not window.on_saw:
        return "leave_uncut", "No multiple of saw_increment lies within the window."
    if facts.control in ("clicker", "draw_stop") or facts.growth_given:
        if length is None:
            return "cut_to", "No arrow length was given. Stop here when cutting a new shaft."
        return (
            "cut_to",
            "The arrow is longer than the window. Cut in steps, shoot after each, and stop at the "
            "figure.",
        )
    if length is None:
        return (
            "leave_uncut",
            "No arrow length and no growth allowance were given. Keep a new shaft longer than the "
            "window, and cut it only when shooting asks for it.",
        )
    return (
        "leave_uncut",
        "The arrow is longer than the window, which is safe. Growth and tune are not known, and a "
        "cut cannot be undone. Cut it only when shooting asks for it.",
    )
