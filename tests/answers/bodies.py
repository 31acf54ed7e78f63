"""Requests of an invented club, in inches and grains."""

from __future__ import annotations

CLICKER = {
    "kind": "recurve",
    "rest_position": {"value": 0, "unit": "in"},
    "clicker_range": {"near": {"value": 1, "unit": "in"}, "far": {"value": 2.5, "unit": "in"}},
}


def inch(value):
    return {"value": value, "unit": "in"}


def grain(value):
    return {"value": value, "unit": "gr"}


def archer(draw=28.0, **more):
    return {"draw_length": inch(draw), "draw_length_convention": "standard", **more}


def shaft(length=29.5, **more):
    """An arrow with all parts that stiffness and balance need."""
    return {
        "length": inch(length),
        "shaft": {
            "static_spine": {"value": 700, "unit": "astm"},
            "mass_per_length": {"value": 6.2, "unit": "gr/in"},
        },
        "point": {"mass": grain(90), "exposed_length": inch(0.7)},
        **more,
    }
