"""What ends the draw, as answers tell it."""

from __future__ import annotations

from drawmark.answers.common.context import Answer
from drawmark.fitting.facts import Facts
from drawmark.rules.model import Measure


def draw_control_response(facts: Facts) -> Answer:
    """Give what ends the draw: as claimed, as it counts, and the fields that the claim lacks."""
    return {
        "claimed": facts.claimed,
        "counts": facts.control,
        "missing": list(facts.unshown),
        "allowance": Measure(facts.allowance),
    }
