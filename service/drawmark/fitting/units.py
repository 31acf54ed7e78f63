"""Units of the wire and their exact factors to SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from drawmark.fitting.columns import Real

Dimension = Literal["length", "mass", "force", "mass_per_length", "frequency", "static_spine"]

INCH: Final = 0.0254
POUND: Final = 0.45359237
GRAIN: Final = 6.479891e-5
STANDARD_GRAVITY: Final = 9.80665
POUND_FORCE: Final = POUND * STANDARD_GRAVITY

ASTM_SPAN: Final = 28 * INCH  # astm-f2031
ASTM_LOAD: Final = 1.94 * POUND_FORCE  # astm-f2031
WOOD_SPAN: Final = 26 * INCH  # wood-spine
WOOD_LOAD: Final = 2 * POUND_FORCE  # wood-spine


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: its symbol on the wire, its factor to SI and the wire's resolution.

    Parameters
    ----------
    symbol : str
        Name on the wire.
    name : str
        Name in words.
    dimension : Dimension
        What it measures.
    factor : float
        SI value of one unit; of its reciprocal where `reciprocal` is true.
    decimals : int
        Decimal places the wire keeps.
    reciprocal : bool
        True where a larger figure means a smaller SI value.
    """

    symbol: str
    name: str
    dimension: Dimension
    factor: float
    decimals: int
    reciprocal: bool = False

    def to_si(self, value: Real) -> Real:
        """Convert a figure in this unit to SI."""
        return self.factor / value if self.reciprocal else value * self.factor

    def from_si(self, value: Real) -> Real:
        """Convert an SI value to this unit, unrounded."""
        return self.factor / value if self.reciprocal else value / self.factor

    @property
    def resolution(self) -> float:
        """Smallest step that the wire keeps [this unit]."""
        return float(10.0**-self.decimals)


# Static spine is held as the E I [N m^2] of the uniform shaft that gives the same test deflection.
_UNITS: Final = (
    Unit("mm", "millimetre", "length", 0.001, 2),
    Unit("cm", "centimetre", "length", 0.01, 3),
    Unit("m", "metre", "length", 1.0, 5),
    Unit("in", "inch", "length", INCH, 3),
    Unit("ft", "foot", "length", 12 * INCH, 4),
    Unit("g", "gram", "mass", 0.001, 3),
    Unit("kg", "kilogram", "mass", 1.0, 6),
    Unit("gr", "grain", "mass", GRAIN, 2),
    Unit("oz", "ounce", "mass", POUND / 16, 5),
    Unit("lb", "pound", "mass", POUND, 6),
    Unit("N", "newton", "force", 1.0, 2),
    Unit("lbf", "pound-force", "force", POUND_FORCE, 3),
    Unit("g/m", "gram per metre", "mass_per_length", 0.001, 3),
    Unit("gr/in", "grain per inch", "mass_per_length", GRAIN / INCH, 3),
    Unit("Hz", "hertz", "frequency", 1.0, 2),
    Unit(
        "astm",
        "thousandth of an inch of deflection, 28 in span, 1.94 lb",
        "static_spine",
        ASTM_LOAD * ASTM_SPAN**3 / 48 / (INCH / 1000),
        1,
        reciprocal=True,
    ),
    Unit(
        "wood-lb",
        "26 over the deflection in inches, 26 in span, 2 lb",
        "static_spine",
        WOOD_LOAD * WOOD_SPAN**3 / 48 / (26 * INCH),
        2,
    ),
)

UNITS: Final[dict[str, Unit]] = {unit.symbol: unit for unit in _UNITS}
DIMENSIONS: Final[dict[Dimension, tuple[Unit, ...]]] = {
    dimension: tuple(unit for unit in _UNITS if unit.dimension == dimension)
    for dimension in dict.fromkeys(unit.dimension for unit in _UNITS)
}
