"""Fit checks of an invented club: a few kinds of archers, each with figures of its own."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from typing import Any

from builders import wire

Item = wire.Body


def about(value: float, unit: str = "in") -> wire.Body:
    """A quantity as someone would write it down."""
    return wire.q(round(value, 3), unit)


def beginner(rng: random.Random) -> Item:
    """Club bow, club arrows; next to nothing is known but the lengths."""
    draw = rng.gauss(26.5, 1.5)
    return {
        "archer": {
            "draw_length": about(draw, "in"),
            "draw_length_convention": "standard",
            "growth_allowance": about(rng.choice((0.5, 1.0)), "in"),
        },
        "bow": {
            "kind": "recurve",
            "draw_weight": about(rng.choice((16, 18, 20, 22)), "lbf"),
            "draw_weight_basis": "at_28",
        },
        "arrow": {"length": about(draw + rng.uniform(0.0, 4.0), "in")},
    }


def recurve(rng: random.Random) -> Item:
    """With a clicker and a full description of the arrow."""
    draw = rng.gauss(28.2, 1.2)
    return {
        "archer": {
            "draw_length": about(draw, "in"),
            "draw_length_convention": "standard",
            "draw_control": "clicker",
        },
        "bow": {
            "kind": "recurve",
            "draw_weight": about(rng.uniform(28, 46), "lbf"),
            "draw_weight_basis": "own_draw",
            "rest_position": about(rng.uniform(0.0, 0.5), "in"),
            "clicker_range": {"near": about(0.9, "in"), "far": about(3.2, "in")},
        },
        "arrow": {
            "length": about(draw + rng.uniform(-0.6, 1.4), "in"),
            "shaft": {
                "static_spine": about(rng.choice((500, 550, 600, 670, 720)), "astm"),
                "mass_per_length": about(rng.uniform(5.5, 8.0), "gr/in"),
                "outside_diameter": about(5.6, "mm"),
                "material": "carbon",
            },
            "point": {
                "mass": about(rng.choice((90, 100, 110)), "gr"),
                "exposed_length": about(0.9, "in"),
            },
            "nock": {"mass": about(9, "gr")},
            "fletching": {
                "mass": about(9, "gr"),
                "rear_edge": about(1.1, "in"),
                "length": about(1.8, "in"),
            },
        },
    }


def barebow(rng: random.Random) -> Item:
    """Metric, with a spread that was measured; some measured often enough to count as settled."""
    draw = rng.gauss(700, 30)
    return {
        "archer": {
            "draw_length": about(draw, "mm"),
            "draw_length_convention": "to_pivot",
            "draw_variation": about(rng.uniform(3, 9), "mm"),
            "draw_count": rng.choice((8, 12, 20)),
            "draw_control": "settled",
        },
        "bow": {
            "kind": "barebow",
            "draw_weight": about(rng.uniform(130, 190), "N"),
            "draw_weight_basis": "own_draw",
            "rest_position": about(rng.uniform(0, 15), "mm"),
        },
        "arrow": {
            "length": about(draw + rng.uniform(20, 110), "mm"),
            "mass": about(rng.uniform(18, 26), "g"),
            "shaft": {
                "static_spine": about(rng.choice((400, 500, 600, 700)), "astm"),
                "mass_per_length": about(rng.uniform(12, 17), "g/m"),
                "outside_diameter": about(9.3, "mm"),
            },
            "point": {"mass": about(rng.uniform(8, 13), "g")},
        },
    }


def longbow(rng: random.Random) -> Item:
    """Wooden arrows, weighed."""
    draw = rng.gauss(27.5, 1.0)
    return {
        "archer": {
            "draw_length": about(draw, "in"),
            "draw_length_convention": "to_back",
            "coach_checked": rng.random() < 0.5,
        },
        "bow": {
            "kind": "longbow",
            "draw_weight": about(rng.uniform(30, 50), "lbf"),
            "draw_weight_basis": "at_28",
            "back_position": about(rng.uniform(1.2, 1.9), "in"),
        },
        "arrow": {
            "length": about(draw + rng.uniform(0.5, 2.5), "in"),
            "mass": about(rng.uniform(280, 450), "gr"),
            "shaft": {"static_spine": about(rng.uniform(35, 55), "wood-lb"), "material": "wood"},
        },
    }


def compound(rng: random.Random) -> Item:
    """With a draw stop and the bow maker's limits."""
    draw = rng.gauss(28.5, 1.2)
    return {
        "archer": {
            "draw_length": about(draw, "in"),
            "draw_length_convention": "standard",
            "draw_control": "draw_stop",
            "release": "aid",
        },
        "bow": {
            "kind": "compound",
            "draw_weight": about(rng.uniform(40, 62), "lbf"),
            "draw_weight_basis": "own_draw",
            "rest_position": about(rng.uniform(-1.0, 1.0), "in"),
            "maximum_draw": about(30, "in"),
            "minimum_arrow_mass": about(300, "gr"),
        },
        "arrow": {
            "length": about(draw + rng.uniform(-1.0, 1.0), "in"),
            "shaft": {
                "static_spine": about(rng.choice((300, 340, 400)), "astm"),
                "mass_per_length": about(rng.uniform(7, 10), "gr/in"),
            },
            "point": {"mass": about(100, "gr")},
            "nock": {"mass": about(10, "gr")},
        },
    }


def junior(rng: random.Random) -> Item:
    """The draw is estimated from the arm span."""
    span = rng.gauss(150, 12)
    return {
        "archer": {"arm_span": about(span, "cm"), "growth_allowance": about(2.5, "cm")},
        "bow": {"kind": "recurve"},
        "arrow": {"length": about(span / 2.5 + rng.uniform(2, 16), "cm")},
    }


MIX: tuple[tuple[Callable[[random.Random], Item], int], ...] = (
    (beginner, 40),
    (recurve, 20),
    (barebow, 12),
    (longbow, 8),
    (compound, 14),
    (junior, 6),
)
# Fields that may be there or not, to make some fifty shapes of a few.
SPARE: tuple[tuple[str, str, Any], ...] = (
    ("archer", "string_hand", "left"),
    ("bow", "maximum_draw", about(31, "in")),
    ("arrow", "balance_point", about(16, "in")),
)


def members(count: int, seed: int = 1, spare: bool = False) -> list[Item]:
    """Fit checks of a club; with `spare` fields of many more shapes."""
    rng = random.Random(seed)
    kinds = [kind for kind, weight in MIX for _ in range(weight)]
    items = []
    for number in range(count):
        item = rng.choice(kinds)(rng)
        item["id"] = f"member {number}"
        for part, name, value in SPARE if spare else ():
            if rng.random() < 0.5:
                item[part].setdefault(name, value)
        items.append(item)
    return items


def batch(count: int, seed: int = 1, spare: bool = False) -> bytes:
    """The body of a batch."""
    return json.dumps({"items": members(count, seed, spare)}, separators=(",", ":")).encode()
