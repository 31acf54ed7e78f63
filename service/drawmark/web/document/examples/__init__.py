"""One request for each operation: invented archers, shown in the document and run by tests."""

from __future__ import annotations

from typing import Any, Final


def q(value: float, unit: str) -> dict[str, Any]:
    """Give a quantity."""
    return {"value": value, "unit": unit}


ARCHER: Final = {"draw_length": q(27.5, "in"), "draw_length_convention": "standard"}
BOW: Final = {"kind": "recurve", "draw_weight": q(32, "lbf"), "draw_weight_basis": "own_draw"}
ARROW: Final = {
    "length": q(29.5, "in"),
    "shaft": {"static_spine": q(700, "astm"), "mass_per_length": q(6.2, "gr/in")},
    "point": {"mass": q(90, "gr"), "exposed_length": q(0.7, "in")},
    "nock": {"mass": q(8, "gr"), "projection": q(0.4, "in")},
    "fletching": {"mass": q(12, "gr"), "rear_edge": q(1.2, "in"), "length": q(1.75, "in")},
}


def _round(length: float, offset: float) -> dict[str, Any]:
    return {
        "length": q(length, "in"),
        "offset": q(offset, "in"),
        "distance": q(18, "m"),
        "bare_count": 3,
        "fletched_count": 3,
        "group_width": q(4, "in"),
    }


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

_BOX: Final = (
    ("a", 28.5, 351.0), ("b", 28.5, 353.0), ("c", 29.25, 362.0), ("d", 28.53, 355.0),
    ("e", 29.25, 364.0), ("f", 28.25, 340.0), ("g", 29.29, 360.5),
)  # fmt: skip

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
    "replacement": {
        "arrow": ARROW,
        "candidates": [
            {
                "id": "heath 650",
                "shaft": {"static_spine": q(650, "astm"), "mass_per_length": q(7.4, "gr/in")},
                "stock_length": q(32, "in"),
            },
            {
                "id": "lake 720",
                "shaft": {"static_spine": q(720, "astm"), "mass_per_length": q(5.9, "gr/in")},
                "stock_length": q(31, "in"),
            },
        ],
        "archer": {**ARCHER, "growth_allowance": q(0, "in")},
        "bow": BOW,
        "available_points": [q(70, "gr"), q(80, "gr"), q(90, "gr"), q(100, "gr"), q(110, "gr")],
        "saw_increment": q(0.125, "in"),
    },
    "balance": {"arrow": ARROW, "wanted_front_of_centre": 13},
    "clicker": {
        "archer": {
            "draw_length": q(28, "in"),
            "draw_length_convention": "standard",
            "draw_control": "clicker",
        },
        "bow": {
            "kind": "recurve",
            "rest_position": q(0, "in"),
            "clicker_range": {"near": q(1, "in"), "far": q(2.5, "in")},
        },
        "arrow": {"length": q(28, "in"), "point": {"exposed_length": q(0.7, "in")}},
        "changes": {"length": q(27.5, "in")},
    },
    "fit-check": {"archer": ARCHER, "bow": BOW, "arrow": ARROW},
    "fit-check/batch": {"items": [{"id": "lane 3", "archer": ARCHER, "bow": BOW, "arrow": ARROW}]},
    "cut-plan": {
        "archer": {**ARCHER, "growth_allowance": q(0, "in")},
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
                "archer": {**ARCHER, "growth_allowance": q(0, "in")},
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
    "delivery": {
        "sets": [
            {
                "id": "Imke",
                "archer": ARCHER,
                "bow": BOW,
                "arrow": ARROW,
                "ordered_length": q(30, "in"),
                "arrived": [q(30, "in"), q(30, "in"), q(29.5, "in"), q(28.75, "in")],
            }
        ]
    },
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
    "kit/sets": {
        "arrows": [
            {"id": id, "length": q(length, "in"), "mass": q(mass, "gr")}
            for id, length, mass in _BOX
        ],
        "arrows_per_set": 3,
    },
    "kit/consistency": {
        "arrows": [
            {"id": id, "length": q(length, "mm"), "mass": q(mass, "gr")}
            for id, (length, mass) in zip("abcde", _WEIGHED, strict=True)
        ]
    },
}
