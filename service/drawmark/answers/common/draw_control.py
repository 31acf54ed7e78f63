"""What ends the draw, as answers tell it."""

from __future__ import annotations

from typing import Annotated, TypedDict

from drawmark.answers.common.answer_types import Length
from drawmark.fitting.facts import Facts
from drawmark.rules.model import Measure


class DrawControl(TypedDict):
    """What ends the draw: what the request claims, and what counts."""

    claimed: Annotated[str, "As the request says."]
    counts: Annotated[str, "As it counts."]
    missing: Annotated[
        list[str], "Fields that the claim lacks; none where they are given and refute it."
    ]
    allowance: Annotated[Length, "Allowed for the spread of the draw."]


DrawEnd = Annotated[DrawControl, "What ends the draw."]
EstimatedDraw = Annotated[bool, "The draw is an estimate from the arm span."]


def draw_control_response(facts: Facts) -> DrawControl:
    """Give what ends the draw: as claimed, as it counts, and the fields that the claim lacks."""
    return {
        "claimed": facts.claimed,
        "counts": facts.control,
        "missing": list(facts.unshown),
        "allowance": Measure(facts.allowance),
    }
