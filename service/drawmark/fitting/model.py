"""Archer, bow and arrow as a request describes them, in SI units.

Distances run along the arrow at full draw, positive toward the target; zero is the pivot
point of the grip for the bow, the bottom of the nock slot for the arrow. Any figure may be
a column of figures; None means not given.
"""

from __future__ import annotations

from dataclasses import dataclass

from drawmark.fitting import fields
from drawmark.fitting.columns import Real
from drawmark.fitting.documented import documented
from drawmark.fitting.growing import Growing

CONVENTIONS = ("to_pivot", "standard", "to_back")
CONTROLS = ("none", "settled", "clicker", "draw_stop")
RELEASES = ("fingers", "aid", "thumb")
HANDS = ("right", "left")
KINDS = ("recurve", "barebow", "longbow", "traditional", "compound", "other")
EXPERIENCES = ("first_evenings", "learning", "practised")
WEIGHT_BASES = ("own_draw", "at_28")
MATERIALS = ("carbon", "aluminium", "carbon_aluminium", "wood")
DRAW = "archer.draw_length|archer.draws|archer.arm_span"
"""Fields that give the draw; one of them is enough."""

_DRAW = (0.30, 1.10)
_BOW_X = (-0.15, 0.35)


@documented
@dataclass(frozen=True, kw_only=True, slots=True)
class Archer(Growing):
    """The archer: draw, its spread, its growth and how its length is controlled."""

    draw_length: Real | None = fields.length(
        *_DRAW, "Draw length in the stated convention.", default=None
    )
    draws: tuple[float, ...] | None = fields.quantity(
        "length",
        *_DRAW,
        "Single measured draws, in the stated convention.",
        default=None,
        fewest=1,
        most=100,
    )
    arm_span: Real | None = fields.length(
        0.80,
        2.60,
        "Arm span. Beside a draw it is a cross-check. Without a draw it gives an estimate.",
        default=None,
    )
    draw_length_convention: str | None = fields.choice(
        CONVENTIONS,
        "What the draw is measured to: the pivot point of the grip, the pivot point plus 1 3/4 "
        "in, or the back of the bow (its front face at the rest).",
        default=None,
    )
    draw_variation: Real | None = fields.length(
        0.0, 0.15, "Standard deviation of the draw from shot to shot.", default=None
    )
    draw_count: Real | None = fields.whole(
        2, 100_000, "Number of draws behind draw_variation.", default=None
    )
    growth_allowance: Real | None = fields.length(
        0.0, 0.20, "How much longer the draw may get before the next check.", default=None
    )
    draw_control: str = fields.choice(
        CONTROLS, "What ends the draw at the same length each time.", default="none"
    )
    release: str | None = fields.choice(
        RELEASES, "How the string is let go. It is needed where a shot has a side.", default=None
    )
    string_hand: str | None = fields.choice(
        HANDS, "Hand that draws the string. It is needed where a shot has a side.", default=None
    )
    experience: str | None = fields.choice(
        EXPERIENCES,
        "How used the archer is to drawing. It sets how far the advised arrow reaches past the "
        "back of the bow: 3, 2 or 1.5 in. If left out, `learning` is assumed.",
        default=None,
    )
    coach_checked: bool = fields.flag(
        "A coach has watched this archer draw these arrows.", default=False
    )


@documented
@dataclass(frozen=True, kw_only=True, slots=True)
class ClickerRange:
    """Where the blade's archer-side edge can be set."""

    near: Real = fields.length(
        *_BOW_X,
        ("Nearest place of the blade's edge, from the pivot point of the grip toward the target."),
    )
    far: Real = fields.length(
        *_BOW_X,
        ("Furthest place of the blade's edge, from the pivot point of the grip toward the target."),
    )


@documented
@dataclass(frozen=True, kw_only=True, slots=True)
class Bow:
    """The bow: its kind, its weight and where things stand on it."""

    kind: str = fields.choice(KINDS, "Kind of bow.")
    draw_weight: Real | None = fields.force(
        10.0,
        900.0,
        "Draw weight. For a compound bow give the peak weight, never the holding weight.",
        default=None,
    )
    draw_weight_basis: str | None = fields.choice(
        WEIGHT_BASES, "Draw length at which the weight was measured.", default=None
    )
    rest_position: Real | None = fields.length(
        -0.15,
        0.15,
        "Foremost place where the arm, blade, button or knuckle must still carry the shaft. "
        "Measured from the pivot point of the grip, positive toward the target.",
        default=None,
    )
    back_position: Real | None = fields.length(
        0.0,
        0.20,
        "The back of the bow: its front face at the rest, from the pivot point of the grip "
        "toward the target. If left out, 1 3/4 in is assumed.",
        default=None,
    )
    clicker_range: ClickerRange | None = fields.part(
        ClickerRange, "Where the clicker's blade can be set.", default=None
    )
    maximum_draw: Real | None = fields.length(
        *_DRAW,
        ("Longest draw that the bow's maker allows, to the pivot point plus 1 3/4 in."),
        default=None,
    )
    minimum_arrow_mass: Real | None = fields.mass(
        0.005, 0.2, "Smallest arrow mass that the bow's maker allows.", default=None
    )


@documented
@dataclass(frozen=True, kw_only=True, slots=True)
class Station:
    """A place on a barrelled or tapered shaft; stiffness and mass are linear in between."""

    position: Real = fields.length(0.0, 1.3, "Distance from the shaft's rear end.")
    relative_stiffness: Real = fields.number(
        0.05, 20.0, "Bending stiffness E I here, as a multiple of that at a place of stiffness 1."
    )
    relative_mass: Real = fields.number(
        0.05, 20.0, "Mass per length here, as a multiple of that at a place of mass 1."
    )


@documented
@dataclass(frozen=True, kw_only=True, slots=True)
class Shaft:
    """The tube or dowel."""

    static_spine: Real | None = fields.quantity(
        "static_spine", 0.6, 45.0, "Static spine by the fixed-span test.", default=None
    )
    mass_per_length: Real | None = fields.quantity(
        "mass_per_length", 0.001, 0.08, "Mass per length of the bare shaft.", default=None
    )
    outside_diameter: Real | None = fields.length(
        0.002, 0.02, "Largest outside diameter.", default=None
    )
    material: str | None = fields.choice(
        MATERIALS,
        "Material of the shaft. Wooden shafts are held to higher launch loads.",
        default=None,
    )
    stations: tuple[Station, ...] | None = fields.part(
        Station,
        "Stations of a barrelled or tapered shaft, from the rear end forward.",
        default=None,
        fewest=2,
        most=50,
    )


@documented
@dataclass(frozen=True, kw_only=True, slots=True)
class Point:
    """The point, or pile."""

    mass: Real | None = fields.mass(0.0, 0.04, "Mass of the point.", default=None)
    exposed_length: Real | None = fields.length(
        0.0, 0.15, "How far the point stands out of the shaft.", default=None
    )
    shank_length: Real | None = fields.length(
        0.0, 0.15, "How far the point's shank reaches into the shaft.", default=None
    )
    sleeve_length: Real | None = fields.length(
        0.0, 0.15, "How far a collar slides back over the shaft.", default=None
    )
    centre: Real | None = fields.length(
        -0.15,
        0.15,
        "Centre of the point's mass ahead of the shaft's front end, negative inside the shaft.",
        default=None,
    )


@documented
@dataclass(frozen=True, kw_only=True, slots=True)
class Insert:
    """An insert behind the point."""

    mass: Real = fields.mass(0.0, 0.015, "Mass of the insert.")
    length: Real | None = fields.length(
        0.0, 0.2, "Length of the insert, back from the shaft's front end.", default=None
    )


@documented
@dataclass(frozen=True, kw_only=True, slots=True)
class Nock:
    """The nock, with its pin or bushing."""

    mass: Real | None = fields.mass(0.0, 0.006, "Mass of the nock.", default=None)
    projection: Real | None = fields.length(
        0.0, 0.06, "Bottom of the nock slot to the shaft's rear end.", default=None
    )


@documented
@dataclass(frozen=True, kw_only=True, slots=True)
class Fletching:
    """The vanes or feathers together."""

    mass: Real | None = fields.mass(0.0, 0.03, "Mass of all vanes together.", default=None)
    rear_edge: Real | None = fields.length(
        0.0, 0.4, "Rear edge of the vanes, from the bottom of the nock slot.", default=None
    )
    length: Real | None = fields.length(0.005, 0.4, "Length of a vane.", default=None)


@documented
@dataclass(frozen=True, kw_only=True, slots=True)
class Wrap:
    """A wrap around the rear end of the shaft."""

    mass: Real = fields.mass(0.0, 0.02, "Mass of the wrap.")
    length: Real = fields.length(0.005, 0.4, "Length of the wrap, from the shaft's rear end.")


@documented
@dataclass(frozen=True, kw_only=True, slots=True)
class Arrow:
    """One arrow, or the shortest of a set."""

    length: Real | None = fields.length(
        0.30,
        1.20,
        "From the bottom of the nock slot to the front end of the shaft. The point never counts.",
        default=None,
    )
    mass: Real | None = fields.mass(0.002, 0.2, "Weighed mass of the whole arrow.", default=None)
    balance_point: Real | None = fields.length(
        0.05, 1.2, "Measured balance point, from the bottom of the nock slot.", default=None
    )
    shaft: Shaft | None = fields.part(Shaft, "The shaft.", default=None)
    point: Point | None = fields.part(Point, "The point.", default=None)
    insert: Insert | None = fields.part(Insert, "The insert.", default=None)
    nock: Nock | None = fields.part(Nock, "The nock.", default=None)
    fletching: Fletching | None = fields.part(Fletching, "The vanes.", default=None)
    wrap: Wrap | None = fields.part(Wrap, "The wrap.", default=None)


@dataclass(frozen=True, kw_only=True, slots=True)
class Fitting:
    """Archer, bow and arrow together; parts that were not given are None."""

    archer: Archer | None = None
    bow: Bow | None = None
    arrow: Arrow | None = None
