"""An invented club's season: what its coach asks from autumn to spring."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from drawmark.client import Answer, Drawmark, Request
from drawmark.demo import season_report
from drawmark.demo.club import archer, arrow, bow, q
from drawmark.demo.report import evening, evening_row


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
_INGRID: Final = {
    "archer": archer(28, growth_allowance=q(0), experience="practised"),
    "bow": bow("barebow", 34),
}
_OLD_DRAW: Final[dict[str, Any]] = {
    "archer": {**_JUNIOR, "measured_on": "2026-04-15", "today": "2026-09-15"},
    "bow": bow("recurve", 20),
    "arrow": arrow(26.5, 1000, 70),
}


def _of_old_draw(answer: Answer) -> str:
    return evening([evening_row("Ruben", "measured in April", _OLD_DRAW, answer, None)])


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
        show=season_report.of_growth,
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
                    **_INGRID,
                    "arrow": arrow(32, 650, 95),
                    "stock_length": q(32),
                },
            ],
            "saw_increment": q(0.25),
        },
        show=season_report.of_order,
    ),
    Step(
        title="November. Ingrid's arrows have come, and not all as ordered.",
        asks=Drawmark.delivery,
        sends={
            "sets": [
                {
                    "id": "Ingrid",
                    **_INGRID,
                    "arrow": arrow(29.5, 650, 95),
                    "ordered_length": q(29.5),
                    "arrived": [q(29.5), q(29.5), q(29.25), q(28.5), q(29.75)],
                }
            ]
        },
        show=season_report.of_delivery,
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
        show=season_report.of_details,
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
        show=season_report.of_clicker,
    ),
    Step(
        title="March. The school's bows of 20 lbf want 13 grains per pound.",
        asks=Drawmark.balance,
        sends={
            "arrow": arrow(27, 1100, 60),
            "wanted_grains_per_pound": 13,
            "draw_weight": q(20, "lbf"),
        },
        show=season_report.of_mass,
    ),
    Step(
        title="April. Ingrid's shaft is sold out: which other acts like it?",
        asks=Drawmark.replacement,
        sends={
            **_INGRID,
            "arrow": arrow(29.5, 650, 95),
            "candidates": [
                {"id": name, "shaft": arrow(29.5, spine, 95)["shaft"]}
                for name, spine in (("moor 600", 600), ("moor 700", 700))
            ],
            "saw_increment": q(0.25),
        },
        show=season_report.of_replacement,
    ),
    Step(
        title="May. A box of odd arrows: which make sets of three?",
        asks=Drawmark.kit_sets,
        sends={
            "arrows": [
                {"length": q(length), "mass": q(mass, "gr")}
                for length, mass in zip(
                    (28, 28.05, 27, 27.02, 28.01, 26.98, 28.03, 30),
                    (250, 252, 240, 242, 253, 241, 262, 250),
                    strict=True,
                )
            ],
            "arrows_per_set": 3,
        },
        show=season_report.of_sets,
    ),
)
