"""An invented archer, bow and arrow."""

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
