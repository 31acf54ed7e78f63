"""Requests about lengths, spine, balance and fit."""

from __future__ import annotations

from typing import Any, Final

from drawmark.web.document.examples.parts import ARCHER, ARROW, BOW, q

EXAMPLES: Final[dict[str, dict[str, Any]]] = {
    "minimum-length": {"archer": ARCHER, "bow": {"kind": "recurve"}},
    "recommended-length": {
        "archer": {**ARCHER, "growth_allowance": q(0.5, "in")},
        "bow": {"kind": "recurve"},
        "arrow": {"length": q(32, "in")},
        "saw_increment": q(0.25, "in"),
    },
    "longest-draw": {
        "arrow": {"length": q(28, "in")},
        "bow": {"kind": "recurve"},
        "archer": {"draw_length_convention": "standard"},
    },
    "spine": {
        "arrow": ARROW,
        "bow": BOW,
        "changes": {"length": q(28.5, "in")},
        "step": q(0.5, "in"),
    },
    "balance": {"arrow": ARROW, "wanted_front_of_centre": 13},
    "fit-check": {"archer": ARCHER, "bow": BOW, "arrow": ARROW},
    "fit-check/batch": {"items": [{"id": "lane 3", "archer": ARCHER, "bow": BOW, "arrow": ARROW}]},
}
