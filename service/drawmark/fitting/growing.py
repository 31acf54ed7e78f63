"""What a request says of an archer's growth, and of the day the draw was measured."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from drawmark.fitting import fields
from drawmark.fitting.columns import Real
from drawmark.fitting.dates import day

GROWTH_TABLES = ("boys", "unknown")


@dataclass(frozen=True, kw_only=True, slots=True)
class Growing:
    """How fast an archer's draw gets longer, and when it was measured."""

    age: Real | None = fields.number(
        4.0,
        100.0,
        "Age in years, today. Below 20 the draw is taken to grow as published height velocities "
        "say, if no `growth_rate` is given.",
        default=None,
    )
    growth_table: str | None = fields.choice(
        GROWTH_TABLES,
        "Height velocities that go with `age`. Published figures by age were found for boys only. "
        "If left out, or for girls, `unknown` takes the fastest growth of all.",
        default=None,
    )
    growth_rate: Real | None = fields.length(
        0.0, 0.1, "How much longer the draw gets in a year.", default=None
    )
    measured_on: datetime.date | None = day(
        "Day on which the draw was measured. With `today`, an old draw is lengthened by the "
        "growth since then before it is used."
    )
    today: datetime.date | None = day("The day for which you ask. The service has no clock.")
