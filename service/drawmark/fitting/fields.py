"""Declarations of dataclass fields: what a field measures, its closed range, its meaning.

A dataclass whose fields are declared here says everything that a wire format needs to
know: the service builds validation and document from it, for the core's own words and
for the settings and inputs of plugins alike. Ranges are in SI units and closed.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any, Final, Literal

from drawmark.fitting.units import Dimension

Kind = Literal["quantity", "number", "whole", "choice", "flag", "text", "part", "local"]
REQUIRED: Final = dataclasses.MISSING
_KEY: Final = "drawmark"


@dataclass(frozen=True, kw_only=True, slots=True)
class Spec:
    """What one field accepts.

    Parameters
    ----------
    kind : Kind
        Sort of value.
    doc : str
        Meaning, one sentence.
    dimension : Dimension or None
        Dimension of a quantity.
    low, high : float
        Closed range [SI], of quantities and numbers.
    choices : tuple of str
        Values of a choice.
    part : type or None
        Dataclass of a nested part.
    fewest, most : int or None
        Both set where the field is a list.
    longest : int
        Characters of a text.
    """

    kind: Kind
    doc: str
    dimension: Dimension | None = None
    low: float = 0.0
    high: float = 0.0
    choices: tuple[str, ...] = ()
    part: type | None = None
    fewest: int | None = None
    most: int | None = None
    longest: int = 0

    @property
    def is_list(self) -> bool:
        """Tell whether the field holds a list (a tuple in SI)."""
        return self.most is not None


def spec_of(field: dataclasses.Field[Any]) -> Spec:
    """Read the declaration of a field; KeyError if it has none."""
    spec: Spec = field.metadata[_KEY]
    return spec


def specs_of(cls: type) -> dict[str, Spec]:
    """Read the declarations of all fields of a dataclass, in order."""
    return {field.name: spec_of(field) for field in dataclasses.fields(cls)}


def is_required(field: dataclasses.Field[Any]) -> bool:
    """Tell whether a field has no default."""
    return field.default is REQUIRED and field.default_factory is REQUIRED


def _declare(spec: Spec, default: Any) -> Any:
    return dataclasses.field(default=default, metadata={_KEY: spec})


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
    """Declare a quantity with a closed range [SI]; a list of them where `most` is given."""
    spec = Spec(
        kind="quantity",
        doc=doc,
        dimension=dimension,
        low=low,
        high=high,
        fewest=fewest,
        most=most,
    )
    return _declare(spec, default)


def length(low: float, high: float, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a length [m]."""
    return quantity("length", low, high, doc, default=default)


def increment(doc: str) -> Any:
    """Declare the step of a scale that figures are rounded to; left out, none is [m]."""
    return length(0.0001, 0.05, doc, default=None)


def mass(low: float, high: float, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a mass [kg]."""
    return quantity("mass", low, high, doc, default=default)


def force(low: float, high: float, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a force [N]."""
    return quantity("force", low, high, doc, default=default)


def number(low: float, high: float, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a plain number."""
    return _declare(Spec(kind="number", doc=doc, low=low, high=high), default)


def whole(low: int, high: int, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a whole number."""
    return _declare(Spec(kind="whole", doc=doc, low=low, high=high), default)


def choice(choices: tuple[str, ...], doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a choice among words."""
    return _declare(Spec(kind="choice", doc=doc, choices=choices), default)


def flag(doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a yes or no."""
    return _declare(Spec(kind="flag", doc=doc), default)


def text(longest: int, doc: str, *, default: Any = REQUIRED) -> Any:
    """Declare a short text."""
    return _declare(Spec(kind="text", doc=doc, longest=longest), default)


def part(
    cls: type,
    doc: str,
    *,
    default: Any = REQUIRED,
    fewest: int | None = None,
    most: int | None = None,
) -> Any:
    """Declare a nested part; a list of parts where `most` is given."""
    return _declare(Spec(kind="part", doc=doc, part=cls, fewest=fewest, most=most), default)


def local(doc: str) -> Any:
    """Declare the inputs of local rules, by plugin; which there are, the service knows."""
    return _declare(Spec(kind="local", doc=doc), None)


def takes_local(cls: type) -> bool:
    """Tell whether a dataclass, or a part of it, takes inputs of local rules."""
    return any(
        spec.kind == "local" or (spec.part is not None and takes_local(spec.part))
        for spec in specs_of(cls).values()
    )
