"""Requests about a whole club."""

from __future__ import annotations

from typing import Any, Final

from drawmark.web.examples.parts import ARROW, q


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

EXAMPLES: Final[dict[str, dict[str, Any]]] = {
    "kit/assignments": {"archers": ARCHERS, "sets": SETS, "arrows_per_archer": 6},
}
