"""An invented club's season: what its coach asks from autumn to spring."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from drawmark.client import Answer, Drawmark, Request
from drawmark.demo.club import archer, arrow, bow, q
from drawmark.demo.report import (
    Row,
    assignments,
    bullets,
    evening,
    evening_row,
    figure,
    indented,
    table,
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One question of the season, and how its answer is shown."""

    title: str
    asks: Callable[[Drawmark, Request], Answer]
    sends: dict[str, Any]
    show: Callable[[Answer], str]


_JUNIOR: Final = archer(24, age=13, growth_table="boys")
_CLICKER_BOW: Final = bow(
    "recurve", 36, rest_position=q(0.2), clicker_range={"near": q(1.2), "far": q(3.2)}
)
_OLD_DRAW: Final[dict[str, Any]] = {
    "archer": {**_JUNIOR, "measured_on": "2026-04-15", "today": "2026-09-15"},
    "bow": bow("recurve", 20),
    "arrow": arrow(26.5, 1000, 70),
}


def _of_old_draw(answer: Answer) -> str:
    return evening([evening_row("Ruben", "measured in April", _OLD_DRAW, answer, None)])


def _of_growth(answer: Answer) -> str:
    curve = answer["growth_curve"]
    rows: list[Row] = [
        (
            (
                str(one["month"]),
                figure(one["draw_length"]),
                figure(one["median_draw_length"]),
                figure(one["minimum"]),
                one["verdict"],
            ),
            (),
        )
        for one in curve["months"]
    ]
    shown = table(("month", "draw, 97th centile", "median", "minimum", "present arrow"), rows)
    told = f"Measure again by month {curve['check_by_month']}."
    if "buy_by_month" in curve:
        told += f" Have longer arrows by month {curve['buy_by_month']}."
    return f"{shown}\n{indented(told)}"


def _of_order(answer: Answer) -> str:
    rows: list[Row] = [
        (
            (
                one["shaft"],
                str(one["count"]),
                "uncut" if one["uncut"] else figure(one["arrow_length"]),
                ", ".join(one["sets"]),
            ),
            (),
        )
        for one in answer["lines"]
    ]
    reasons = [f"{one['id']}: {one['reason']}" for one in answer["sets"]]
    return "\n".join([table(("shaft", "count", "length", "for"), rows), *map(indented, reasons)])


def _of_delivery(answer: Answer) -> str:
    (one,) = answer["sets"]
    rows: list[Row] = [
        (
            (
                str(each["index"] + 1),
                figure(each["length"]),
                each["against_order"].replace("_", " "),
                each["verdict"],
                each["use"].replace("_", " "),
            ),
            (),
        )
        for each in one["arrows"]
    ]
    shown = table(("arrow", "length", "against the order", "verdict", "use"), rows)
    told = f"The shortest will do for a draw of {figure(one['longest_safe_draw'])}."
    return f"{shown}\n{indented(told)}"


def _of_details(answer: Answer) -> str:
    told = [
        f"{one['archer']} gets {one['arrows']} arrows and shares the set with "
        f"{', '.join(one['shared_with']) or 'nobody'}."
        for one in answer["assignments"]
    ]
    return "\n".join([assignments(answer), *map(indented, told)])


def _of_clicker(answer: Answer) -> str:
    reach = "The clicker reaches there." if answer["within_range"] else answer["reason"]
    return bullets(
        [
            f"The blade goes from {figure(answer['blade_before'])} to "
            f"{figure(answer['blade_after'])} past the pivot point. {reach}",
            f"If nobody moves it, the draw becomes {figure(answer['draw_if_not_moved'])}.",
            answer["sight"]["advice"],
            f"Fit check after that: {answer['verdict']}, minimum {figure(answer['minimum'])}.",
        ]
    )


def _of_mass(answer: Answer) -> str:
    found = answer["to_reach_wanted_mass"]
    point, shaft = found["by_point"], found["by_shaft"]
    ways = (
        (f"a point of {figure(point['point_mass'])}", point),
        (f"a shaft of {figure(shaft['mass_per_length'])}", shaft),
    )
    return bullets(
        [
            f"The arrow weighs {figure(answer['mass'])}; {found['grains_per_pound']:g} grains per "
            f"pound are {figure(found['mass'])}.",
            *(
                f"With {what} the front of centre is {figure(way['front_of_centre'])} % and the "
                f"arrow acts like a {figure(way['equivalent_static_spine']['free_vibration'])} "
                "spine by free vibration, "
                f"{figure(way['equivalent_static_spine']['launch'])} by launch force."
                for what, way in ways
            ),
        ]
    )


STEPS: Final = (
    Step(
        title="September. Ruben's draw was measured in April: may he still shoot his arrows?",
        asks=Drawmark.fit_check,
        sends=_OLD_DRAW,
        show=_of_old_draw,
    ),
    Step(
        title="Measured again, he draws 24.5 in. How long will 27 in arrows do?",
        asks=Drawmark.fit_check,
        sends={
            "archer": {**_JUNIOR, "draw_length": q(24.5)},
            "bow": bow("recurve", 20),
            "arrow": arrow(27, 1000, 70),
            "curve_months": 12,
        },
        show=_of_growth,
    ),
    Step(
        title="October. A dozen for Ruben, and a dozen for Ingrid, who no longer grows.",
        asks=Drawmark.order,
        sends={
            "sets": [
                {
                    "id": "Ruben",
                    "shaft": "fen 1000",
                    "shafts": 12,
                    "archer": {**_JUNIOR, "draw_length": q(24.5)},
                    "bow": bow("recurve", 20),
                    "arrow": arrow(30, 1000, 70),
                    "stock_length": q(30),
                },
                {
                    "id": "Ingrid",
                    "shaft": "fen 650",
                    "shafts": 12,
                    "archer": archer(28, growth_allowance=q(0), experience="practised"),
                    "bow": bow("barebow", 34),
                    "arrow": arrow(32, 650, 95),
                    "stock_length": q(32),
                },
            ],
            "saw_increment": q(0.25),
        },
        show=_of_order,
    ),
    Step(
        title="November. Ingrid's arrows have come, and not all as ordered.",
        asks=Drawmark.delivery,
        sends={
            "sets": [
                {
                    "id": "Ingrid",
                    "archer": archer(28, growth_allowance=q(0), experience="practised"),
                    "bow": bow("barebow", 34),
                    "arrow": arrow(29.5, 650, 95),
                    "ordered_length": q(29.5),
                    "arrived": [q(29.5), q(29.5), q(29.25), q(28.5), q(29.75)],
                }
            ]
        },
        show=_of_delivery,
    ),
    Step(
        title="December. Four beginners, two details and two sets: who shoots which?",
        asks=Drawmark.kit_assignments,
        sends={
            "archers": [
                {
                    "id": name,
                    "detail": detail,
                    "archer": archer(draw, experience="first_evenings"),
                    "bow": bow("recurve", 18),
                }
                for name, detail, draw in (
                    ("Ottilie", "first", 24),
                    ("Runa", "first", 25),
                    ("Ekke", "second", 24.5),
                    ("Sif", "second", 25.5),
                )
            ],
            "sets": [
                {"id": "blue", "arrow": arrow(28.5, 1100, 70), "count": 6},
                {"id": "red", "arrow": arrow(28.5, 1100, 70), "count": 4},
            ],
            "arrows_per_archer": 6,
            "least_arrows": 4,
        },
        show=_of_details,
    ),
    Step(
        title="February. Marisol cuts half an inch off: what becomes of her clicker?",
        asks=Drawmark.clicker,
        sends={
            "archer": archer(27.5, draw_control="clicker", coach_checked=True),
            "bow": _CLICKER_BOW,
            "arrow": arrow(28, 620, 90),
            "changes": {"length": q(27.5)},
        },
        show=_of_clicker,
    ),
    Step(
        title="March. The school's bows of 20 lbf want 13 grains per pound.",
        asks=Drawmark.balance,
        sends={
            "arrow": arrow(27, 1100, 60),
            "wanted_grains_per_pound": 13,
            "draw_weight": q(20, "lbf"),
        },
        show=_of_mass,
    ),
)
