"""Room for a junior's growth until the next check, from published velocities of height.

Yearly figures were found for boys from 8 to 16 alone: the 97th centile in
`drawmark.fitting.draw.height_growth` (source `tanner-davies`, read). Everybody else gets the
largest of them, up to 16. That a draw grows like height / 2.5 is an assumption (source
`draw-growth`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark import rules
from drawmark.fitting.columns import both, maximum, where
from drawmark.fitting.draw.height_growth import BOYS, MONTHS_A_YEAR
from drawmark.fitting.floors import minimum_of
from drawmark.fitting.limits import HEIGHT_TO_DRAW

GREATEST: Final = max(row.high for row in BOYS)
"""Largest velocity of height in the table [m a year]."""
YOUNGEST, OLDEST = BOYS[0].age, BOYS[-1].age
"""Ends of the table [years]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Junior:
    """The archer, and when the draw is measured again."""

    age: float = rules.number(5.0, 18.0, "Age in years, such as 12.5.")
    months: float = rules.number(
        0.0, 24.0, "Months until the draw is measured again. Growth until then is allowed for."
    )
    sex: str | None = rules.choice(
        ("female", "male"),
        "Only for boys from 8 to 16 are there yearly figures. Anybody else gets the largest.",
        default=None,
    )


def height_velocity(age: rules.Real, sex: str | None) -> rules.Real:
    """Give how fast a junior of an age [years] may grow [m a year]."""
    known = np.interp(age, [row.age for row in BOYS], [row.high for row in BOYS])
    # Past the table's end the last figure holds: that growth slows down then is from memory.
    of_boys: rules.Real = known if isinstance(age, np.ndarray) else float(known)
    if sex == "male":
        return where(age < YOUNGEST, GREATEST, of_boys)
    return where(age < OLDEST, GREATEST, of_boys)


def draw_growth(junior: Junior) -> rules.Real:
    """Give how much longer the draw may be at the next check [m]."""
    end = junior.age + junior.months / MONTHS_A_YEAR
    fastest = maximum(height_velocity(junior.age, junior.sex), height_velocity(end, junior.sex))
    for row in BOYS:
        # Between its rows the table is straight, so the fastest age is a row or an end.
        passed = both(junior.age <= row.age, row.age <= end)
        fastest = maximum(fastest, where(passed, row.high, 0.0))
    return fastest / HEIGHT_TO_DRAW * (junior.months / MONTHS_A_YEAR)


def check_growth(case: rules.Case) -> Iterable[rules.Said]:
    """Add the growth that is not stated yet to the core's own minimum, spread and all."""
    facts = case.facts
    growth = draw_growth(case.inputs)
    if facts.control in ("clicker", "draw_stop"):
        # They end the draw where it is today, so the core asks for no growth either.
        yield rules.caution(
            "This junior's draw may grow before the next check. Move the clicker or the stop with "
            "it, and check the arrows again when it is moved.",
            when=rules.longer(growth, 0.0),
            measured=rules.Measure(growth, up=True),
            source="draw-growth",
        )
        return
    least = minimum_of(facts) - facts.sleeve
    further = maximum(growth - facts.growth, 0.0)
    yield rules.floor(
        least + further,
        "A junior's draw may grow this much before the next check.",
        terms=(
            rules.Term("the core's minimum", least),
            rules.Term(
                "growth until the next check, beyond what is stated", further, "draw-growth"
            ),
        ),
        source="tanner-davies",
    )


@rules.hookimpl
def drawmark_rules() -> list[rules.Rule]:
    """Give the plugin's rule."""
    return [
        rules.Rule(
            id="growth-until-the-next-check",
            title="The arrow leaves room for a junior's growth until the next check.",
            check=check_growth,
            check_many=check_growth,
            concerns="local",
            gives=frozenset({"floor", "finding"}),
            inputs=Junior,
            source="tanner-davies",
        ),
    ]
