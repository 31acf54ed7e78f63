"""Declarations of dataclass fields: what a field measures, its closed range, its meaning.

A dataclass whose fields are declared here says everything that a wire format needs to know: the
service builds validation and document from it, for the core's own words and for the settings
and inputs of plugins alike. Ranges are in SI units and closed.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from datetime import date
from functools import cache
from operator import attrgetter
from typing import Any, Final

from drawmark.deprecation import Deprecated
from drawmark.fitting.field_kinds import (
    Choice,
    Flag,
    Local,
    Number,
    Part,
    Quantity,
    Spec,
    Text,
    Whole,
)
from drawmark.fitting.units import Dimension

REQUIRED: Final = dataclasses.MISSING
_KEY: Final = "drawmark"


def spec_of(field: dataclasses.Field[Any]) -> Spec:
    """Read the declaration of a field; KeyError if it has none."""
    spec: Spec = field.metadata[_KEY]
    return spec


@cache
def declared(cls: type) -> tuple[tuple[str, Spec, Any], ...]:
    """Read name, declaration and default of all fields of a dataclass, in order."""
    return tuple((field.name, spec_of(field), field.default) for field in dataclasses.fields(cls))


def specs_of(cls: type) -> dict[str, Spec]:
    """Read the declarations of all fields of a dataclass, by name and in order."""
    return {name: spec for name, spec, _ in declared(cls)}


def quantity_of(cls: type, name: str) -> Quantity:
    """Read the declaration of a quantity of a dataclass."""
    spec = specs_of(cls)[name]
    assert isinstance(spec, Quantity)
    return spec


def reader_of(names: Sequence[str]) -> Callable[[Any], tuple[Any, ...]]:
    """Make the function that reads fields of an object, in a third of the time of a loop."""
    if len(names) > 1:
        return attrgetter(*names)
    return lambda holder: tuple([getattr(holder, name) for name in names])


def is_required(field: dataclasses.Field[Any]) -> bool:
    """Tell whether a field has no default."""
    return field.default is REQUIRED and field.default_factory is REQUIRED


def takes_local(cls: type) -> bool:
    """Tell whether a dataclass, or a part of it, takes inputs of local rules."""
    return any(
        isinstance(spec, Local) or (isinstance(spec, Part) and takes_local(spec.cls))
        for spec in specs_of(cls).values()
    )


def _declare(spec: Spec, default: Any) -> Any:
    if isinstance(spec, Number) and type(default) is int:
        # A rule sees a float wherever its figure comes from.
        default = float(default)
    return dataclasses.field(default=default, metadata={_KEY: spec})


def deprecated(field: Any, *, since: str, instead: str, until: str | None = None) -> Any:
    """Declare that an input is on its way out: document and answers tell whoever still sends it.

    Parameters
    ----------
    field : Any
        What `length` or another of its kind declared, with a default.
    since : str
        Day from which it is on its way out, such as "2027-03-01".
    instead : str
        What to use in its place, one sentence.
    until : str or None
        Last day on which it is sure to be accepted.

    Raises
    ------
    ValueError
        If a day is none, or `until` is before `since`.
    """
    mark = Deprecated(
        since=date.fromisoformat(since),
        instead=instead,
        until=None if until is None else date.fromisoformat(until),
    )
    return _declare(dataclasses.replace(spec_of(field), deprecated=mark), field.default)


def quantity(
    dimension: Dimension,
    low: float,
    high: float,
    doc: str,
    *,
    default: Any = REQUIRED,
    fewest: int | None = None,
    most: int | None = None,
) -> Any:
    """Declare a quantity; a list of them where `most` is given, which no plugin may use.

    Parameters
    ----------
    dimension : Dimension
        Such as "length", "mass_per_length" or "static_spine".
    low, high : float
        Ends of the closed range [SI].
    doc : str
        What it means, one sentence.
    default : float or None
        Its value where it is left out; it must be given if there is none [SI].
    fewest, most : int or None
        How many a list has.
    """
    spec = Quantity(doc=doc, dimension=dimension, low=low, high=high, fewest=fewest, most=most)
    return _declare(spec, default)


def length(low: float, high: float, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a length.

    Parameters
    ----------
    low, high : float
        Ends of the closed range [m].
    doc : str
        What it means, one sentence.
    default : float or None
        Its value where it is left out; it must be given if there is none [m].
    """
    return quantity("length", low, high, doc, default=default)


def increment(doc: str) -> Any:
    """Declare the step of a scale that figures are rounded to; left out, none is [m]."""
    return length(0.0001, 0.05, doc, default=None)


def mass(low: float, high: float, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a mass.

    Parameters
    ----------
    low, high : float
        Ends of the closed range [kg].
    doc : str
        What it means, one sentence.
    default : float or None
        Its value where it is left out; it must be given if there is none [kg].
    """
    return quantity("mass", low, high, doc, default=default)


def force(low: float, high: float, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a force.

    Parameters
    ----------
    low, high : float
        Ends of the closed range [N].
    doc : str
        What it means, one sentence.
    default : float or None
        Its value where it is left out; it must be given if there is none [N].
    """
    return quantity("force", low, high, doc, default=default)


def number(low: float, high: float, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a plain number.

    Parameters
    ----------
    low, high : float
        Ends of the closed range.
    doc : str
        What it means, one sentence.
    default : float or None
        Its value where it is left out; it must be given if there is none.
    """
    return _declare(Number(doc=doc, low=low, high=high), default)


def whole(low: int, high: int, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a whole number.

    Parameters
    ----------
    low, high : int
        Ends of the closed range.
    doc : str
        What it means, one sentence.
    default : int or None
        Its value where it is left out; it must be given if there is none.
    """
    return _declare(Whole(doc=doc, low=low, high=high), default)


def choice(choices: tuple[str, ...], doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a choice among words.

    Parameters
    ----------
    choices : tuple of str
        The words.
    doc : str
        What it means, one sentence.
    default : str or None
        Its value where it is left out; it must be given if there is none.
    """
    return _declare(Choice(doc=doc, choices=choices), default)


def flag(doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a yes or no.

    Parameters
    ----------
    doc : str
        What it means, one sentence.
    default : bool or None
        Its value where it is left out; it must be given if there is none.
    """
    return _declare(Flag(doc=doc), default)


def text(longest: int, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a short text.

    Parameters
    ----------
    longest : int
        Greatest number of characters.
    doc : str
        What it means, one sentence.
    default : str or None
        Its value where it is left out; it must be given if there is none.
    """
    return _declare(Text(doc=doc, longest=longest), default)


def part(
    cls: type,
    doc: str,
    *,
    default: Any = REQUIRED,
    fewest: int | None = None,
    most: int | None = None,
) -> Any:
    """Declare a nested part; a list of parts where `most` is given."""
    return _declare(Part(doc=doc, cls=cls, fewest=fewest, most=most), default)


def local(doc: str) -> Any:
    """Declare the inputs of local rules, by plugin; which there are, the service knows."""
    return _declare(Local(doc=doc), None)
