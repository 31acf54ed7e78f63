"""Days of the calendar in a request. There is no clock here: the caller says what day it is."""

from __future__ import annotations

import dataclasses
import datetime
from dataclasses import dataclass
from random import Random
from typing import Any, Final

from drawmark.fitting.field_kinds import Word

DAYS_A_MONTH: Final = 365.25 / 12


@dataclass(frozen=True, kw_only=True, slots=True)
class Day(Word):
    """A day, written as year-month-day."""

    def fault_in(self, value: object) -> str | None:
        """Say what is wrong with a value; None where it is accepted."""
        return None if type(value) is datetime.date else f"is {value!r}, not a day"

    def random(self, rng: Random) -> datetime.date:
        """Draw a day of one year."""
        return datetime.date(2026, 1, 1) + datetime.timedelta(days=rng.randrange(365))


def day(doc: str) -> Any:
    """Declare a day, which may be left out."""
    return dataclasses.field(default=None, metadata={"drawmark": Day(doc=doc)})


def months_between(earlier: datetime.date, later: datetime.date) -> float:
    """Count the months from one day to another.

    Parameters
    ----------
    earlier, later : datetime.date
        The days.

    Returns
    -------
    float
        Time between them, negative where they stand the other way round [months].
    """
    return (later - earlier).days / DAYS_A_MONTH
