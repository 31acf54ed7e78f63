"""Archers, bows and arrows of an invented club, in SI."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
from hypothesis import strategies as st

from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.model import (
    Archer,
    Arrow,
    Bow,
    ClickerRange,
    Fitting,
    Fletching,
    Insert,
    Nock,
    Point,
    Shaft,
    Station,
    Wrap,
)
from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE, UNITS


def archer(inches: float = 28.0, **more: Any) -> Archer:
    """An archer by the draw, standard convention unless another is told."""
    told = {"draw_length": inches * INCH, "draw_length_convention": "standard"}
    return Archer(**(told | more))


def bow(pounds: float = 30.0, kind: Any = "recurve", **more: Any) -> Bow:
    return Bow(kind=kind, draw_weight=pounds * POUND_FORCE, draw_weight_basis="own_draw", **more)


def arrow(
    inches: float = 30.0, spine: float = 700.0, point: float = 90.0, shaft: Any = None, **more: Any
) -> Arrow:
    """An arrow with all its parts: length [in], ASTM spine, mass of its point [gr]."""
    tube = {
        "static_spine": UNITS["astm"].to_si(spine),
        "mass_per_length": UNITS["gr/in"].to_si(6.5),
    }
    return Arrow(
        length=inches * INCH,
        shaft=Shaft(**(tube | (shaft or {}))),
        point=Point(mass=point * GRAIN, exposed_length=0.7 * INCH),
        nock=Nock(mass=9 * GRAIN),
        fletching=Fletching(mass=14 * GRAIN, rear_edge=INCH, length=1.75 * INCH),
        **more,
    )


def facts(who: Archer | None = None, bow: Bow | None = None, arrow: Arrow | None = None) -> Facts:
    """What the core works out, of an archer with a recurve unless others are given."""
    return facts_of(Fitting(archer=who or archer(), bow=bow or Bow(kind="recurve"), arrow=arrow))


CLICKER = Bow(
    kind="recurve",
    rest_position=0.25 * INCH,
    clicker_range=ClickerRange(near=1 * INCH, far=3 * INCH),
)
POINT = Point(exposed_length=0.75 * INCH)
PLAIN = Arrow(
    length=30 * INCH,
    shaft=Shaft(static_spine=float(UNITS["astm"].to_si(500.0)), mass_per_length=8.4 * GRAIN / INCH),
    point=Point(mass=120 * GRAIN),
    nock=Nock(mass=10 * GRAIN),
)
FULL = dataclasses.replace(
    PLAIN,
    point=Point(
        mass=100 * GRAIN, exposed_length=0.02, shank_length=0.03, sleeve_length=0.0, centre=-0.004
    ),
    insert=Insert(mass=12 * GRAIN, length=0.03),
    nock=Nock(mass=9 * GRAIN, projection=0.012),
    fletching=Fletching(mass=20 * GRAIN, rear_edge=0.03, length=0.06),
    wrap=Wrap(mass=8 * GRAIN, length=0.1),
)
BARRELLED = dataclasses.replace(
    PLAIN,
    shaft=Shaft(
        static_spine=float(UNITS["astm"].to_si(500.0)),
        mass_per_length=8.4 * GRAIN / INCH,
        stations=(
            Station(position=0.0, relative_stiffness=0.7, relative_mass=0.8),
            Station(position=0.3, relative_stiffness=1.1, relative_mass=1.05),
            Station(position=0.45, relative_stiffness=1.0, relative_mass=1.0),
            Station(position=0.76, relative_stiffness=0.4, relative_mass=0.6),
        ),
    ),
)


def tapered(*stations: tuple[float, float, float], **changes: Any) -> Arrow:
    """The plain arrow with stations: position [m], relative stiffness, relative mass."""
    assert PLAIN.shaft is not None
    shaft = dataclasses.replace(
        PLAIN.shaft,
        stations=tuple(
            Station(position=place, relative_stiffness=stiffness, relative_mass=mass)
            for place, stiffness, mass in stations
        ),
    )
    return dataclasses.replace(PLAIN, shaft=shaft, **changes)


NECKED = tapered(
    (0.0, 1.0, 1.0), (0.36, 1.0, 1.0), (0.375, 0.1, 0.4), (0.39, 1.0, 1.0), (0.762, 1.0, 1.0)
)
STEPPED = tapered(
    (0.0, 1.23, 0.48), (0.095, 2.72, 0.35), (0.366, 1.45, 1.42), (0.367, 0.62, 1.93),
    (0.485, 2.36, 1.32),
    point=Point(mass=0.0065), nock=Nock(mass=0.0006),
)  # fmt: skip


def plain(**changes: Any) -> Arrow:
    """The plain arrow with other fields."""
    return dataclasses.replace(PLAIN, **changes)


def unit_arrow(point: float, nock: float) -> Arrow:
    """Length, stiffness and mass of the shaft all 1; end masses as its multiples."""
    return Arrow(
        length=1.0,
        shaft=Shaft(static_spine=1.0, mass_per_length=1.0),
        point=Point(mass=point),
        nock=Nock(mass=nock),
    )


def _maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


def arrows(*, centre: bool = False) -> st.SearchStrategy[Arrow]:
    """Whole arrows within what is sold; the point's centre given only where asked for."""
    real = st.floats
    return st.builds(
        Arrow,
        length=real(0.5, 0.85),
        shaft=st.builds(Shaft, static_spine=real(2.0, 9.0), mass_per_length=real(0.005, 0.03)),
        point=st.builds(
            Point,
            mass=real(0.003, 0.02),
            centre=real(-0.04, 0.03) if centre else st.none(),
        ),
        insert=_maybe(st.builds(Insert, mass=real(0.0, 0.003), length=_maybe(real(0.0, 0.05)))),
        nock=_maybe(
            st.builds(Nock, mass=_maybe(real(0.0, 0.002)), projection=_maybe(real(0.0, 0.02)))
        ),
        fletching=_maybe(
            st.builds(
                Fletching,
                mass=real(0.0, 0.003),
                rear_edge=real(0.02, 0.06),
                length=real(0.03, 0.12),
            )
        ),
        wrap=_maybe(st.builds(Wrap, mass=real(0.0, 0.002), length=real(0.05, 0.2))),
    )


def column_of(items: list[Any]) -> Any:
    """One dataclass of columns out of dataclasses alike in the fields they have."""
    first = items[0]
    if first is None:
        return None
    if dataclasses.is_dataclass(first):
        fields = dataclasses.fields(first)
        return dataclasses.replace(
            first, **{f.name: column_of([getattr(item, f.name) for item in items]) for f in fields}
        )
    return np.array(items, dtype=float) if isinstance(first, float) else first
