"""What ends the draw, in an answer."""

from __future__ import annotations

from typing import Annotated, TypedDict

from drawmark.answers.common.answer_types import Length
from drawmark.fitting.facts import Facts
from drawmark.rules.model import Measure


class DrawControl(TypedDict):
    """What ends the draw: what the request claims, and what counts."""

    claimed: Annotated[str, "What the request claims."]
    counts: Annotated[str, "What is used after checking the claim."]
    missing: Annotated[
        list[str],
        "Paths of fields that the claim lacks. Empty if the claim holds, or if given "
        "fields contradict it.",
    ]
    allowance: Annotated[Length, "Length allowed for the spread of the draw."]


DrawEnd = Annotated[DrawControl, "What ends the draw, and what is allowed for its spread."]
EstimatedDraw = Annotated[bool, "Whether the draw is only estimated from the arm span."]


def draw_control_response(facts: Facts) -> DrawControl:
    """Give what ends the draw: as claimed, as it counts, and the fields that the claim lacks."""
    return {
        "claimed": facts.claimed,
        "counts": facts.control,
        "missing": list(facts.unshown),
        "allowance": Measure(facts.allowance),
    }
