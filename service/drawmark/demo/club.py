"""An invented club's evening: archers, bows and arrows."""

from __future__ import annotations

from typing import Any, Final


def q(value: float, unit: str = "in") -> dict[str, Any]:
    """Write a quantity."""
    return {"value": value, "unit": unit}


def bow(kind: str, pounds: float, **more: Any) -> dict[str, Any]:
    """Describe a bow by its kind and draw weight."""
    return {
        "kind": kind,
        "draw_weight": q(pounds, "lbf"),
        "draw_weight_basis": "own_draw",
        **more,
    }


def arrow(length: float, spine: float, point: float, **more: Any) -> dict[str, Any]:
    """Describe an arrow with a carbon shaft by length, spine and point."""
    return {
        "length": q(length),
        "shaft": {
            "static_spine": q(spine, "astm"),
            "mass_per_length": q(6.4, "gr/in"),
            "material": "carbon",
        },
        "point": {"mass": q(point, "gr"), "exposed_length": q(0.7)},
        "nock": {"mass": q(9, "gr")},
        "fletching": {"mass": q(14, "gr"), "rear_edge": q(1.1), "length": q(1.75)},
        **more,
    }


def archer(draw: float, **more: Any) -> dict[str, Any]:
    """Describe an archer by draw length, standard convention."""
    return {"draw_length": q(draw), "draw_length_convention": "standard", **more}


def without_coach(one: dict[str, Any]) -> dict[str, Any]:
    """Give an archer without a coach's check."""
    return {name: value for name, value in one.items() if name != "coach_checked"}


_CLICKER: Final = {
    "rest_position": q(0.2),
    "clicker_range": {"near": q(1.2), "far": q(3.2)},
}
_WOODEN: Final = {
    "length": q(29.5),
    "shaft": {
        "static_spine": q(45, "wood-lb"),
        "mass_per_length": q(10.5, "gr/in"),
        "material": "wood",
        "outside_diameter": q(7.9, "mm"),
    },
    "point": {"mass": q(100, "gr")},
    "fletching": {"mass": q(30, "gr"), "rear_edge": q(1.2), "length": q(4)},
}

EVENING: Final[tuple[tuple[str, str, dict[str, Any]], ...]] = (
    (
        "Ottilie",
        "first evening",
        {
            "archer": archer(25, growth_allowance=q(1), experience="first_evenings"),
            "bow": bow("recurve", 18),
            "arrow": arrow(28.5, 1100, 70),
        },
    ),
    (
        "Ruben",
        "growing junior",
        {
            "archer": archer(24, growth_allowance=q(1.5)),
            "bow": bow("recurve", 20),
            "arrow": arrow(26, 1000, 70),
        },
    ),
    (
        "Marisol",
        "clicker, all fields",
        {
            "archer": archer(27.5, draw_control="clicker", coach_checked=True),
            "bow": bow("recurve", 36, **_CLICKER),
            "arrow": arrow(27.25, 620, 90),
        },
    ),
    (
        "Pieter",
        "clicker near the rest",
        {
            "archer": archer(28, draw_control="clicker", coach_checked=True),
            "bow": bow("recurve", 38, **_CLICKER),
            "arrow": arrow(27.25, 600, 90),
        },
    ),
    (
        "Tadeusz",
        "clicker, claimed only",
        {
            "archer": archer(28, draw_control="clicker"),
            "bow": bow("recurve", 34, rest_position=q(0.2)),
            "arrow": arrow(28.5, 650, 90),
        },
    ),
    (
        "Ingrid",
        "barebow",
        {
            "archer": archer(28, draw_variation=q(0.3), draw_count=20),
            "bow": bow("barebow", 34),
            "arrow": arrow(30.5, 650, 95),
        },
    ),
    (
        "Callum",
        "longbow, deep grip",
        {
            "archer": {"draw_length": q(27), "draw_length_convention": "to_back"},
            "bow": bow("longbow", 42, back_position=q(2.4)),
            "arrow": _WOODEN,
        },
    ),
    (
        "Anneke",
        "compound, draw stop",
        {
            "archer": archer(27, draw_control="draw_stop", coach_checked=True),
            "bow": bow("compound", 48, rest_position=q(0.5), maximum_draw=q(29)),
            "arrow": arrow(27.5, 450, 100),
        },
    ),
    (
        "Bram",
        "borrowed set",
        {
            "archer": archer(30),
            "bow": bow("recurve", 30),
            "arrow": arrow(28, 700, 80),
        },
    ),
    (
        "Solveig",
        "far too weak a shaft",
        {
            "archer": archer(28),
            "bow": bow("compound", 60),
            "arrow": arrow(30, 1000, 100),
        },
    ),
    (
        "Dario",
        "weighed against parts",
        {
            "archer": archer(27),
            "bow": bow("recurve", 30),
            "arrow": arrow(29, 750, 85, mass=q(420, "gr")),
        },
    ),
    (
        "Fenna",
        "arm span against draw",
        {
            "archer": archer(28, arm_span=q(150, "cm")),
            "bow": bow("recurve", 28),
            "arrow": arrow(30, 800, 85),
        },
    ),
    (
        "Lubos",
        "arm span only",
        {
            "archer": {"arm_span": q(178, "cm")},
            "bow": bow("recurve", 24),
            "arrow": arrow(33.5, 800, 85),
        },
    ),
    (
        "Yara",
        "grams typed for grains",
        {
            "archer": archer(27),
            "bow": bow("recurve", 28),
            "arrow": arrow(29, 800, 85, mass=q(310, "g")),
        },
    ),
)
