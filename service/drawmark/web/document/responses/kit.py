"""Answers about a whole club."""

from __future__ import annotations

from typing import Any, Final

from drawmark.answers.club.stock_check import CLICKERS, UNSUITED
from drawmark.answers.club.unequipped import REASONS
from drawmark.answers.kit_labels import GROWTHS
from drawmark.fitting.kit.odd_arrows import FIGURES
from drawmark.web.document.responses.shapes import (
    COMMON,
    ENGINE,
    FIGURE,
    FLAG,
    FORCE,
    LENGTH,
    MINIMUM,
    NOT_CHECKED,
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
    "kit/labels": "LabelsAnswer",
    "kit/lengths": "LengthsAnswer",
    "kit/consistency": "ConsistencyAnswer",
}
_DEMAND: Final = object_of({"plugin": TEXT, "rule": TEXT, "floor": TEXT, "reason": TEXT})
_FIELD: Final = choice_of(*FIGURES)

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
    "Label": object_of(
        {"set": TEXT, "status": STATUS, "draw_control": ref("DrawControl")},
        limited_by=_DEMAND,
        findings=list_of(ref("Finding")),
        longest_safe_draw=LENGTH,
        longest_safe_draw_at_most=LENGTH,
        label=LENGTH,
        reason=TEXT,
        growth=choice_of(*GROWTHS),
        safe_until_months=WHOLE,
    ),
    "LabelsAnswer": object_of(
        {
            "status": STATUS,
            "draw_length_convention": TEXT,
            "labels": list_of(ref("Label")),
            **COMMON,
        }
    ),
    "StockLength": object_of(
        {"archers": TEXTS, "count": WHOLE, "arrows": WHOLE, "longest_minimum_of": TEXT},
        length=LENGTH,
        length_at_least=LENGTH,
    ),
    "LengthsAnswer": object_of(
        {
            "status": STATUS,
            "lengths": list_of(ref("StockLength")),
            "curve": list_of(object_of({"lengths": WHOLE}, waste=LENGTH)),
            "fewest_lengths": WHOLE,
            "clickers": choice_of(*CLICKERS),
            "minimums": list_of(object_of({"archer": TEXT}, **MINIMUM, demanded_by=_DEMAND)),
            "unsuited": list_of(object_of({"archer": TEXT, "reason": choice_of(*UNSUITED)})),
            **COMMON,
        },
        waste=LENGTH,
        season=object_of({"months": WHOLE, "growth": LENGTH, "source": TEXT}),
    ),
    "OddArrow": object_of(
        {"index": WHOLE, "field": _FIELD, "value": FIGURE, "typical": FIGURE, "limit": FIGURE}
    ),
    "ConsistencyAnswer": object_of(
        {
            "status": STATUS,
            "odd": list_of(ref("OddArrow")),
            "thresholds": object_of(
                {
                    "deviations": NUMBER,
                    "fewest_arrows": WHOLE,
                    "at_least": list_of(object_of({"field": _FIELD, "distance": FIGURE})),
                    "source": TEXT,
                }
            ),
            "unmeasured": list_of(object_of({"index": WHOLE, "field": _FIELD})),
            "not_checked": NOT_CHECKED,
            "not_told": TEXTS,
            "cautions": TEXTS,
            "engine": ENGINE,
        },
        shortest_length=LENGTH,
        shortest_length_at_most=LENGTH,
    ),
}
