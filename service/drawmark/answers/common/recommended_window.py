"""The lengths to choose from."""

from __future__ import annotations

from typing import Annotated, NotRequired, TypedDict

from drawmark.answers.common.answer_types import Length
from drawmark.answers.common.minimum import minimum_length_of
from drawmark.fitting import limits
from drawmark.fitting import window as fitted
from drawmark.fitting.draw.control import exposed_of
from drawmark.fitting.model import Arrow, Bow
from drawmark.rules.model import Measure
from drawmark.rules.outcome import Outcome


class Window(TypedDict):
    """Shortest and longest of a range of lengths."""

    shortest: Annotated[Length, "Shortest length."]
    longest: Annotated[Length, "Longest length."]


class Recommendation(TypedDict):
    """The recommended lengths in an answer."""

    recommended: NotRequired[
        Annotated[Length, "Recommended arrow length. Left out if no length is recommended."]
    ]
    window: NotRequired[
        Annotated[
            Window,
            "Range of recommended lengths. Left out if no length is safe, usual and within reach.",
        ]
    ]


def window_in(
    outcome: Outcome, bow: Bow, arrow: Arrow | None, increment: float | None = None
) -> fitted.Window:
    """Give the recommended window above the minimum and below every ceiling."""
    ceilings = [float(placed.said.length) for placed in outcome.ceilings]
    return fitted.window_of(
        outcome.facts,
        bow,
        exposed_of(arrow),
        minimum_length_of(outcome),
        min(ceilings) if ceilings else None,
        increment,
    )


def window_response(window: fitted.Window) -> Recommendation:
    """Give the recommended window and figure, or say that no length serves."""
    if window.figure is None:
        return {}
    # Rounded each to its safe side, a figure and an end close to it would change places.
    at_end = window.longest - window.figure < limits.BLADE_WIDTH
    return {
        "recommended": Measure(window.figure, up=True),
        "window": {
            "shortest": Measure(window.shortest, up=True),
            "longest": Measure(window.longest, up=at_end, down=not at_end),
        },
    }
