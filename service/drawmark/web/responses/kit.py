"""Answers about a whole club."""

from __future__ import annotations

from typing import Any, Final

from drawmark.answers.kit.leftout import REASONS
from drawmark.web.responses.shapes import (
    COMMON,
    FLAG,
    FORCE,
    LENGTH,
    NUMBER,
    STATUS,
    TEXT,
    TEXTS,
    VERDICT,
    WHOLE,
    choice_of,
    list_of,
    object_of,
    ref,
)

NAMES: Final = {
    "kit/assignments": "AssignmentsAnswer",
}

COMPONENTS: Final[dict[str, dict[str, Any]]] = {
    "Assignment": object_of(
        {
            "archer": TEXT,
            "set": TEXT,
            "verdict": VERDICT,
            "margin": LENGTH,
            "in_window": FLAG,
            "findings": list_of(ref("Finding")),
        },
        launch_load=NUMBER,
    ),
    "Unequipped": object_of(
        {
            "archer": TEXT,
            "reason": choice_of(*REASONS),
            "remedy": TEXT,
            "nearest_set": TEXT,
            "safe_sets": TEXTS,
            "findings": list_of(ref("Finding")),
        },
        would_need=LENGTH,
        would_need_at_least=LENGTH,
        lighter_bow=FORCE,
    ),
    "AssignmentsAnswer": object_of(
        {
            "status": STATUS,
            "assignments": list_of(ref("Assignment")),
            "unequipped": list_of(ref("Unequipped")),
            "equipped": WHOLE,
            "in_window": WHOLE,
            "not_told": TEXTS,
            **COMMON,
        }
    ),
}
