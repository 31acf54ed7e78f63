"""Parts of requests as they cross the wire, of an invented club."""

from __future__ import annotations

from typing import Any

Body = dict[str, Any]


def q(value: Any, unit: str = "in") -> Body:
    return {"value": value, "unit": unit}


def archer(draw: float = 28.0, **more: Any) -> Body:
    """An archer by the draw, standard convention."""
    return {"draw_length": q(draw), "draw_length_convention": "standard", **more}


def bow(pounds: float, basis: str = "own_draw", kind: str = "recurve", **more: Any) -> Body:
    return {"kind": kind, "draw_weight": q(pounds, "lbf"), "draw_weight_basis": basis, **more}


def arrow(length: float = 29.5, spine: float = 700.0, **more: Any) -> Body:
    """An arrow with all parts that stiffness and balance need."""
    return {
        "length": q(length),
        "shaft": {"static_spine": q(spine, "astm"), "mass_per_length": q(6.2, "gr/in")},
        "point": {"mass": q(90, "gr"), "exposed_length": q(0.7)},
        **more,
    }


CLICKER = {
    "kind": "recurve",
    "rest_position": q(0),
    "clicker_range": {"near": q(1), "far": q(2.5)},
}
