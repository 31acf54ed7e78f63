"""Room for a junior's growth until the next check, from age or a known rate of growth.

`drawmark.fitting.draw.height_growth` works out how fast a draw grows, from the 97th centile of boys
from 8 to 16 (source `tanner-davies`, read). Everybody else up to 16 gets its largest figure. That a
draw grows like height / 2.5 is an assumption (source `draw-growth`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from drawmark import rules
from drawmark.fitting.columns import maximum
from drawmark.fitting.draw.height_growth import MONTHS_A_YEAR, draw_growth_by_age
from drawmark.fitting.floors import minimum_of


@dataclass(frozen=True, kw_only=True, slots=True)
class NextCheck:
    """When the draw is measured again."""

    months: float = rules.number(
        0.0, 24.0, "Months until the draw is measured again. Growth until then is allowed for."
    )


def draw_growth(archer: rules.Archer, months: rules.Real) -> rules.Real:
    """Give how much longer the draw may be after some months [m]."""
    if archer.growth_rate is not None:
        return archer.growth_rate * months / MONTHS_A_YEAR
    assert archer.age is not None
    ages, times = np.broadcast_arrays(archer.age, months)
    table = archer.growth_table or "unknown"
    grown = np.array(
        [
            draw_growth_by_age(age, time, table)
            for age, time in zip(ages.flat, times.flat, strict=True)
        ],
        dtype=np.float64,
    )
    return grown if ages.ndim else float(grown[0])


def check_growth(case: rules.Case) -> Iterable[rules.Said]:
    """Add the growth that is not stated yet to the core's own minimum, spread and all."""
    facts = case.facts
    growth = draw_growth(case.archer, case.inputs.months)
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
            needs=("archer.age|archer.growth_rate",),
            concerns="local",
            gives=frozenset({"floor", "finding"}),
            inputs=NextCheck,
            source="tanner-davies",
        ),
    ]
