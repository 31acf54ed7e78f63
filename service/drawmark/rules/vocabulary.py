"""What a rule that a club states in its file may limit: figures and words of a fitting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from drawmark.fitting.field_kinds import Choice, Number
from drawmark.fitting.fields import quantity_of, specs_of
from drawmark.fitting.model import CONTROLS, EXPERIENCES, KINDS, Archer, Arrow, Bow, Point, Shaft
from drawmark.fitting.units import GRAIN, POUND_FORCE
from drawmark.rules.model import Case, MeasureKind


@dataclass(frozen=True, kw_only=True, slots=True)
class Figure:
    """A figure that a stated rule may limit; of a range of figures each limit takes its own end."""

    words: str
    spec: Number
    kind: MeasureKind
    needs: tuple[str, ...]
    greatest: Callable[[Case], Any]
    least: Callable[[Case], Any]
    ends: str = ""
    """The comparison that a longer draw may end: it cannot stop an arrow."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Word:
    """A word that a stated rule may refuse."""

    words: str
    choices: tuple[str, ...]
    needs: tuple[str, ...]
    values: Callable[[Case], tuple[Any, ...]]
    """The word, and any other that may be true as well."""


def _figure(
    words: str,
    spec: Number,
    kind: MeasureKind,
    needs: tuple[str, ...],
    value: Callable[[Case], Any],
    least: Callable[[Case], Any] | None = None,
    ends: str = "",
) -> Figure:
    return Figure(
        words=words,
        spec=spec,
        kind=kind,
        needs=needs,
        greatest=value,
        least=least or value,
        ends=ends,
    )


def _least_weight(case: Case) -> Any:
    facts = case.facts
    return facts.draw_weight if facts.least_draw_weight is None else facts.least_draw_weight


def _least_launch_load(case: Case) -> Any:
    return case.facts.launch_load * (_least_weight(case) / case.facts.draw_weight)


def _grains_per_pound(case: Case, weight: Any) -> Any:
    return case.facts.arrow_mass / weight * (POUND_FORCE / GRAIN)


def _part(name: str, field: str) -> Callable[[Case], Any]:
    return lambda case: getattr(getattr(case.arrow, name), field)


def _materials() -> tuple[str, ...]:
    spec = specs_of(Shaft)["material"]
    assert isinstance(spec, Choice)
    return spec.choices


VOCABULARY: Final[dict[str, Figure | Word]] = {
    "arrow_mass": _figure(
        "mass of the whole arrow, weighed or else summed from the parts given",
        quantity_of(Arrow, "mass"),
        "mass",
        ("facts.arrow_mass",),
        lambda case: case.facts.arrow_mass,
    ),
    "bow_kind": Word(
        words="kind of bow",
        choices=KINDS,
        needs=("bow.kind",),
        values=lambda case: (case.bow.kind,),
    ),
    "draw_control": Word(
        words="what ends the draw, as claimed or as the fields show it",
        choices=CONTROLS,
        needs=(),
        values=lambda case: (case.facts.control, case.facts.claimed),
    ),
    "draw_variation": _figure(
        "standard deviation of the draw",
        quantity_of(Archer, "draw_variation"),
        "length",
        ("facts.variation",),
        lambda case: case.facts.variation,
    ),
    "draw_weight": _figure(
        "draw weight at the archer's own draw",
        quantity_of(Bow, "draw_weight"),
        "force",
        ("facts.draw_weight",),
        lambda case: case.facts.draw_weight,
        _least_weight,
        ends="below",
    ),
    "experience": Word(
        words="the archer's experience",
        choices=EXPERIENCES,
        needs=("archer.experience",),
        values=lambda case: (case.archer.experience,),
    ),
    "front_of_centre": _figure(
        "front of centre in per cent, measured or else from the parts given",
        Number(doc="", low=0.0, high=50.0),
        "percent",
        ("facts.front_of_centre",),
        lambda case: case.facts.front_of_centre,
    ),
    "grains_per_pound": _figure(
        "arrow mass in grains for each pound-force of draw weight",
        Number(doc="", low=3.0, high=50.0),
        "number",
        ("facts.arrow_mass", "facts.draw_weight"),
        lambda case: _grains_per_pound(case, _least_weight(case)),
        lambda case: _grains_per_pound(case, case.facts.draw_weight),
        ends="above",
    ),
    "launch_load": _figure(
        "draw weight over the arrow's critical launch force",
        Number(doc="", low=0.1, high=10.0),
        "number",
        ("facts.launch_load",),
        lambda case: case.facts.launch_load,
        _least_launch_load,
        ends="below",
    ),
    "outside_diameter": _figure(
        "outside diameter of the shaft",
        quantity_of(Shaft, "outside_diameter"),
        "length",
        ("arrow.shaft.outside_diameter",),
        _part("shaft", "outside_diameter"),
    ),
    "point_mass": _figure(
        "mass of the point",
        quantity_of(Point, "mass"),
        "mass",
        ("arrow.point.mass",),
        _part("point", "mass"),
    ),
    "shaft_material": Word(
        words="what the shaft is made of",
        choices=_materials(),
        needs=("arrow.shaft.material",),
        values=lambda case: (_part("shaft", "material")(case),),
    ),
    "static_spine": _figure(
        "static spine of the shaft",
        quantity_of(Shaft, "static_spine"),
        "static_spine",
        ("arrow.shaft.static_spine",),
        _part("shaft", "static_spine"),
    ),
}
"""What a stated rule may limit, by the word that names it."""
