"""What is on its way out: since when, what to use instead, and how long it is sure to stay."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, kw_only=True, slots=True)
class Deprecated:
    """Marks something that is on its way out; `instead` is a sentence."""

    since: date
    instead: str
    until: date | None = None

    def __post_init__(self) -> None:
        """Refuse an end before the beginning, which no caller could make sense of."""
        if self.until is not None and self.until < self.since:
            raise ValueError(f"until {self.until} is before since {self.since}")

    @property
    def words(self) -> str:
        """Say it in sentences."""
        stays = "" if self.until is None else f" It stays until {self.until}."
        return f"Deprecated since {self.since}. {self.instead}{stays}"
