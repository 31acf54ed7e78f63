"""Requests about a whole club."""

from __future__ import annotations

from typing import Any, Final

from drawmark.web.document.examples.parts import ARROW, q


def _archer(name: str, draw: float, weight: float) -> dict[str, Any]:
    return {
        "id": name,
        "archer": {
            "draw_length": q(draw, "in"),
            "draw_length_convention": "standard",
            "growth_allowance": q(0.5, "in"),
        },
        "bow": {
            "kind": "recurve",
            "draw_weight": q(weight, "lbf"),
            "draw_weight_basis": "own_draw",
        },
    }


def _set(name: str, length: float, spine: float, count: int) -> dict[str, Any]:
    shaft = {**ARROW["shaft"], "static_spine": q(spine, "astm")}
    return {
        "id": name,
        "arrow": {**ARROW, "length": q(length, "in"), "shaft": shaft},
        "count": count,
        "vanes": "plastic",
    }


ARCHERS: Final = [_archer("Ines", 25, 18), _archer("Falk", 27, 24), _archer("Odd", 29.5, 30)]
SETS: Final = [_set("blue", 27.5, 1000, 7), _set("red", 29.5, 800, 6)]

_RACK: Final = [{"id": one["id"], "arrow": one["arrow"]} for one in SETS]
_WEIGHED: Final = ((742.0, 351.0), (742.5, 350.5), (742.0, 352.0), (741.5, 349.5), (738.0, 361.0))

EXAMPLES: Final[dict[str, dict[str, Any]]] = {
    "kit/assignments": {"archers": ARCHERS, "sets": SETS, "arrows_per_archer": 6},
    "kit/labels": {
        "sets": _RACK,
        "bow": {"kind": "recurve"},
        "archer": {"draw_length": q(25, "in"), "draw_length_convention": "standard"},
        "growth_rate": q(1.5, "in"),
        "label_increment": q(0.25, "in"),
    },
    "kit/lengths": {
        "archers": ARCHERS,
        "most_lengths": 2,
        "season": {"months": 6, "growth_rate": q(1.5, "in")},
        "arrows_per_archer": 6,
        "saw_increment": q(0.25, "in"),
    },
    "kit/consistency": {
        "arrows": [{"length": q(length, "mm"), "mass": q(mass, "gr")} for length, mass in _WEIGHED]
    },
}
