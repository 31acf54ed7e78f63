"""One request for each operation: invented archers, shown in the document and run by tests."""

from __future__ import annotations

from typing import Any, Final


def _q(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


_ARCHER: Final = {"draw_length": _q(27.5, "in"), "draw_length_convention": "standard"}
_BOW: Final = {"kind": "recurve", "draw_weight": _q(32, "lbf"), "draw_weight_basis": "own_draw"}
_ARROW: Final = {
    "length": _q(29.5, "in"),
    "shaft": {"static_spine": _q(700, "astm"), "mass_per_length": _q(6.2, "gr/in")},
    "point": {"mass": _q(90, "gr"), "exposed_length": _q(0.7, "in")},
    "nock": {"mass": _q(8, "gr"), "projection": _q(0.4, "in")},
    "fletching": {"mass": _q(12, "gr"), "rear_edge": _q(1.2, "in"), "length": _q(1.75, "in")},
}

EXAMPLES: Final[dict[str, dict[str, Any]]] = {
    "minimum-length": {"archer": _ARCHER, "bow": {"kind": "recurve"}},
    "recommended-length": {
        "archer": {**_ARCHER, "growth_allowance": _q(0.5, "in")},
        "bow": {"kind": "recurve"},
        "arrow": {"length": _q(32, "in")},
        "saw_increment": _q(0.25, "in"),
    },
    "longest-draw": {
        "arrow": {"length": _q(28, "in")},
        "bow": {"kind": "recurve"},
        "archer": {"draw_length_convention": "standard"},
    },
    "spine": {
        "arrow": _ARROW,
        "bow": _BOW,
        "changes": {"length": _q(28.5, "in")},
        "step": _q(0.5, "in"),
    },
    "balance": {"arrow": _ARROW, "wanted_front_of_centre": 13},
    "fit-check": {"archer": _ARCHER, "bow": _BOW, "arrow": _ARROW},
    "fit-check/batch": {
        "items": [{"id": "lane 3", "archer": _ARCHER, "bow": _BOW, "arrow": _ARROW}]
    },
}
