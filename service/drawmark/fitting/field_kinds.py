"""Kinds of declared fields: what each accepts, in SI units and closed ranges.

What a kind is on the wire stands in `web.wire.wire_fields`.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from random import Random
from typing import Any, Final, Self

from drawmark.deprecation import Deprecated
from drawmark.fitting.units import Dimension

_AT_END: Final = 0.05
"""Share of random figures that are an end of their range."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Spec:
    """What one field accepts.

    Parameters
    ----------
    doc : str
        Meaning, one sentence.
    fewest, most : int or None
        Both set where the field is a list (a tuple in SI).
    deprecated : Deprecated or None
        Set where the field is on its way out.
    """

    doc: str
    fewest: int | None = None
    most: int | None = None
    deprecated: Deprecated | None = None

    @property
    def meaning(self) -> str:
        """What the field means, and whether it is on its way out."""
        return self.doc if self.deprecated is None else f"{self.doc} {self.deprecated.words}"

    @property
    def is_list(self) -> bool:
        """Tell whether the field holds a list."""
        return self.most is not None

    @property
    def single(self) -> Self:
        """The declaration of one item of the list."""
        return dataclasses.replace(self, fewest=None, most=None)


@dataclass(frozen=True, kw_only=True, slots=True)
class Plain(Spec):
    """A value without parts."""

    def fault_in(self, value: object) -> str | None:
        """Say what is wrong with a value in SI; None where it is accepted."""
        raise NotImplementedError

    def random(self, rng: Random) -> Any:
        """Draw a value that is accepted."""
        raise NotImplementedError


@dataclass(frozen=True, kw_only=True, slots=True)
class Figure(Plain):
    """A figure in a closed range [SI]: what a column can hold."""

    low: float
    high: float

    def random(self, rng: Random) -> Any:
        """Draw a figure; now and then an end of the range."""
        if rng.random() < _AT_END:
            return rng.choice((self.low, self.high))
        return rng.uniform(self.low, self.high)


@dataclass(frozen=True, kw_only=True, slots=True)
class Number(Figure):
    """A plain number."""

    def fault_in(self, value: object) -> str | None:
        """Say what is wrong with a value in SI; None where it is accepted."""
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            return f"is {value!r}, not a number"
        # A limit written in a unit converts to SI with a rounding error of its own.
        slack = 1e-12 * max(abs(self.low), abs(self.high))
        if not math.isfinite(value) or not self.low - slack <= value <= self.high + slack:
            return f"is {value!r}, not between {self.low:g} and {self.high:g}"
        return None


@dataclass(frozen=True, kw_only=True, slots=True)
class Quantity(Number):
    """A figure with a dimension, written with its unit."""

    dimension: Dimension


@dataclass(frozen=True, kw_only=True, slots=True)
class Whole(Figure):
    """A whole number."""

    def fault_in(self, value: object) -> str | None:
        """Say what is wrong with a value; None where it is accepted."""
        if isinstance(value, bool) or not isinstance(value, int):
            return f"is {value!r}, not a whole number"
        if not self.low <= value <= self.high:
            return f"is {value}, not between {self.low:g} and {self.high:g}"
        return None

    def random(self, rng: Random) -> int:
        """Draw a count: small as a rule, however wide the range."""
        low, high = int(self.low), int(self.high)
        return rng.randint(low, min(high, low + 40)) if rng.random() < 1 - _AT_END else high


@dataclass(frozen=True, kw_only=True, slots=True)
class Word(Plain):
    """A value that groups the items of a batch: each value is computed apart."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Choice(Word):
    """One of several words."""

    choices: tuple[str, ...]

    def fault_in(self, value: object) -> str | None:
        """Say what is wrong with a value; None where it is accepted."""
        if value in self.choices:
            return None
        return f"is {value!r}, not one of {', '.join(self.choices)}"

    def random(self, rng: Random) -> str:
        """Draw a word."""
        return rng.choice(self.choices)


@dataclass(frozen=True, kw_only=True, slots=True)
class Flag(Word):
    """A yes or no."""

    def fault_in(self, value: object) -> str | None:
        """Say what is wrong with a value; None where it is accepted."""
        return None if isinstance(value, bool) else f"is {value!r}, neither true nor false"

    def random(self, rng: Random) -> bool:
        """Draw a yes or no."""
        return rng.random() < 0.5


@dataclass(frozen=True, kw_only=True, slots=True)
class Text(Word):
    """A short text of at most `longest` characters."""

    longest: int

    def fault_in(self, value: object) -> str | None:
        """Say what is wrong with a value; None where it is accepted."""
        if not isinstance(value, str) or not value.isprintable():
            return f"is {value!r}, not a text"
        return f"has more than {self.longest} characters" if len(value) > self.longest else None

    def random(self, rng: Random) -> str:
        """Draw a text."""
        return "x" * rng.randint(0, self.longest)


@dataclass(frozen=True, kw_only=True, slots=True)
class Part(Spec):
    """A nested dataclass with declared fields."""

    cls: type


@dataclass(frozen=True, kw_only=True, slots=True)
class Local(Spec):
    """The inputs of local rules, by plugin."""
