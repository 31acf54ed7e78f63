"""Requests about cutting: a plan with shots, and an order."""

from __future__ import annotations

from typing import Any, Final

from drawmark.web.document.examples.parts import ARCHER, ARROW, BOW, q


def _round(length: float, offset: float) -> dict[str, Any]:
    return {
        "length": q(length, "in"),
        "offset": q(offset, "in"),
        "distance": q(18, "m"),
        "bare_count": 3,
        "fletched_count": 3,
        "group_width": q(4, "in"),
    }


EXAMPLES: Final[dict[str, dict[str, Any]]] = {
    "cut-plan": {
        "archer": ARCHER,
        "bow": BOW,
        "arrow": {**ARROW, "length": q(31, "in")},
        "shots": [_round(31.5, 12), _round(31, 10.5)],
        "cutting": {
            "target_offset": q(1, "in"),
            "available_points": [q(80, "gr"), q(90, "gr"), q(100, "gr"), q(110, "gr")],
        },
        "saw_increment": q(0.0625, "in"),
    },
    "order": {
        "sets": [
            {
                "id": "Imke",
                "shaft": "lake 700",
                "archer": {**ARCHER, "growth_allowance": q(0.5, "in")},
                "bow": BOW,
                "arrow": ARROW,
                "shafts": 12,
                "spares": 2,
                "stock_length": q(32, "in"),
            },
            {
                "id": "Joris",
                "shaft": "lake 700",
                "archer": {"arm_span": q(66, "in")},
                "bow": {"kind": "recurve"},
                "arrow": ARROW,
                "shafts": 8,
                "stock_length": q(32, "in"),
            },
            {
                "id": "club reserve",
                "shaft": "lake 700",
                "arrow": ARROW,
                "wanted_length": q(30, "in"),
                "shafts": 6,
                "stock_length": q(32, "in"),
            },
        ],
        "saw_increment": q(0.25, "in"),
    },
}
