"""Which shots a plan used, in an answer."""

from __future__ import annotations

from typing import Annotated, NotRequired, TypedDict

from drawmark.answers.common.answer_types import Distance, Length
from drawmark.fitting import limits
from drawmark.fitting.cutting.offsets import Reading
from drawmark.rules.model import Measure


class ReadingUsed(TypedDict):
    "Which shots were used."

    setup: Annotated[str, "Setup whose rounds were used: the last one."]
    rounds: Annotated[int, "Rounds that were read."]
    set_aside: Annotated[int, "Rounds of other setups, which were not used."]
    group_widths: Annotated[int, "Rounds that have a group width."]
    arrow_deviation: Annotated[
        Length, "Standard deviation of one arrow across the target, at `distance`."
    ]
    systematic_error: Annotated[
        Length,
        "Standard deviation of an error that all rounds share, at `distance`. It is a choice of "
        "this project without a source.",
    ]
    distance: Annotated[
        Distance, "Distance to the target for these figures, in the unit in which it was given."
    ]


class ReadingOfShots(TypedDict):
    """What the shots show."""

    reading: NotRequired[Annotated[ReadingUsed, "Which shots were used."]]


def reading_response(reading: Reading | None) -> ReadingOfShots:
    """Give which shots were used."""
    if reading is None:
        return {}
    return {
        "reading": {
            "setup": reading.setup,
            "rounds": len(reading.evidence),
            "set_aside": reading.set_aside,
            "group_widths": reading.widths,
            "arrow_deviation": Measure(reading.arrow_deviation * reading.distance),
            "systematic_error": Measure(limits.SYSTEMATIC_DEVIATION * reading.distance),
            "distance": Measure(reading.distance, "distance"),
        }
    }
