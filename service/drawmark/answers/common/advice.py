"""What to do with the arrow at hand."""

from __future__ import annotations

from typing import Final, Literal

from drawmark.answers.common.minimum import minimum_length_of
from drawmark.fitting import limits
from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Arrow
from drawmark.fitting.window import Window
from drawmark.rules.outcome import Outcome, sentence

_NO_LENGTH: Final = "No arrow length is both safe and within reach."
_MOVE_CLICKER: Final = (
    " Move the clicker's blade forward, extend the clicker or mount it on the sight. Otherwise "
    "choose a longer arrow."
)
_LOW_CEILING: Final = " A local rule's ceiling is too low for this archer: ask the club."
_TOO_SHORT: Final = "The arrow is shorter than the minimum safe length. Do not draw it."
_FIRST_EVENINGS: Final = (
    "These are the archer's first evenings, so the draw may still get longer. Keep the arrow as it "
    "is, and look again once the draw has settled."
)
_NO_CLEAR_LENGTH: Final = (
    "The arrow is too long for the clicker, and every arrow that reaches it is close to the "
    "minimum safe length. Move or extend the clicker. Do not cut the arrow."
)
CLICKER_FIRST: Final = (
    "Where the clicker now is, no safe length of this arrow reaches it. Move or extend the clicker "
    "before any cut."
)
_SLIGHTLY_TOO_LONG: Final = (
    "The arrow is slightly too long for the clicker. First move or extend the clicker. If that is "
    "not possible, cut to `window.longest` and no further."
)
_FAR_TOO_LONG: Final = (
    "The arrow is too long for the clicker. Move or extend the clicker as far as it goes. Then cut "
    "in steps to `window.longest`, and no further."
)
_CEILING: Final = (
    "The arrow is longer than a local rule allows. That alone is no reason to cut it: ask the club."
)
Advice = Literal["cut_to", "leave_uncut", "too_short", "no_common_length", "as_is"]


def is_short(arrow: Arrow | None, outcome: Outcome) -> bool:
    """Tell whether the arrow at hand is shorter than the minimum."""
    length = None if arrow is None else arrow.length
    return length is not None and bool(limits.shorter(length, minimum_length_of(outcome)))


def is_growing(facts: Facts) -> bool:
    """Tell whether the request says that the draw still gets longer."""
    return bool(facts.growth > 0) or bool(facts.growing)


def may_grow(facts: Facts) -> bool:
    """Tell whether the draw may still get longer: growth is stated, or nothing tells that not."""
    ended = facts.control in ("clicker", "draw_stop")
    beginner = facts.experience == "first_evenings"
    known = facts.growth_given or (ended and not beginner)
    return is_growing(facts) or not known


def no_length_reason(outcome: Outcome, window: Window) -> str:
    """Say why no length serves; with the rule's own words where a ceiling is in the way."""
    clicker = _MOVE_CLICKER if outcome.facts.control == "clicker" else ""
    return f"{_NO_LENGTH}{clicker}{_ceiling_reason(outcome, window)}"


def _ceiling_reason(outcome: Outcome, window: Window) -> str:
    """Give the reason of the ceiling that ends the window, after a blank; nothing without one."""
    least = min(outcome.ceilings, key=lambda one: float(one.said.length), default=None)
    if least is None or limits.longer(float(least.said.length), window.longest):
        return ""
    return f"{_LOW_CEILING} {sentence(least.said.reason)}"


def advise(outcome: Outcome, window: Window, arrow: Arrow | None) -> tuple[Advice, str]:
    """Advise on the arrow at hand, or on a new shaft: one of five words, and why."""
    facts = outcome.facts
    length = None if arrow is None else arrow.length
    if is_short(arrow, outcome):
        no_length = f" {no_length_reason(outcome, window)}" if window.empty else ""
        return "too_short", f"{_TOO_SHORT}{no_length}"
    if window.empty:
        return "no_common_length", no_length_reason(outcome, window)
    if not outcome.determinate:
        return (
            "leave_uncut",
            "A rule that may require a longer arrow could not be evaluated: see `unevaluated`.",
        )
    if facts.estimated:
        return "leave_uncut", (
            "The draw is only an estimate from the arm span. Measure the draw before any cut."
        )
    if facts.few_vary:
        return "leave_uncut", (
            "The few known draws vary widely. Measure six or more draws before any cut."
        )
    if length is not None and not limits.longer(length, window.longest):
        if limits.shorter(length, window.shortest):
            return "as_is", (
                "The arrow is shorter than recommended, but long enough to be safe. Do not cut it."
            )
        return "as_is", "The arrow's length is within the recommended range."
    if reason := _ceiling_reason(outcome, window):
        return "leave_uncut", f"{_CEILING}{reason}"
    if facts.unshown:
        return (
            "leave_uncut",
            "The claimed draw control is not shown. Give the fields in `draw_control.missing`.",
        )
    if facts.refuted:
        return "leave_uncut", CLICKER_FIRST
    if not window.on_saw:
        return "leave_uncut", (
            "No multiple of `saw_increment` lies within the recommended range. Give a smaller one."
        )
    if is_growing(facts):
        kept = "a new shaft longer than recommended" if length is None else "the arrow as it is"
        moved = " Move or extend the clicker to meet it." if facts.control == "clicker" else ""
        return (
            "leave_uncut",
            f"Growth is stated, so the draw may get longer. Keep {kept}: a cut cannot be undone."
            + moved,
        )
    if facts.experience == "first_evenings" and not facts.growth_given:
        return "leave_uncut", _FIRST_EVENINGS
    if facts.control == "clicker" and length is not None:
        clear = minimum_length_of(outcome) + limits.CAUTION_BAND[facts.experience]
        if limits.shorter(window.longest, clear):
            return "leave_uncut", _NO_CLEAR_LENGTH
        if limits.longer(length, window.longest + limits.CLICKER_MOVE):
            return "cut_to", _FAR_TOO_LONG
        return "leave_uncut", _SLIGHTLY_TOO_LONG
    if not may_grow(facts):
        if length is None:
            return "cut_to", (
                "No arrow length was given. When you cut a new shaft, stop at the recommended "
                "length."
            )
        return (
            "cut_to",
            "The arrow is longer than recommended. Cut in steps, shoot after each, and stop at "
            "the recommended length.",
        )
    if length is None:
        return (
            "leave_uncut",
            "No arrow length and no growth allowance were given. Keep a new shaft longer than "
            "recommended, and cut it only if shooting shows the need.",
        )
    return (
        "leave_uncut",
        "The arrow is longer than recommended, which is safe. Growth and tune are not known, and "
        "a cut cannot be undone. Cut it only if shooting shows the need.",
    )
