"""Values as people write them ("28.5 in", true, "recurve") into dataclasses in SI."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping
from typing import Any, Final, TypeVar

from drawmark.errors import UserError
from drawmark.fitting.field_kinds import Number, Part, Plain, Quantity, Spec
from drawmark.fitting.fields import is_required, spec_of
from drawmark.fitting.units import DIMENSIONS, UNITS
from drawmark.rules.validation import one_line

_Instance = TypeVar("_Instance")
_WRITTEN: Final = re.compile(r"\s*([-+]?\d+(?:\.\d+)?)\s+(\S+)\s*")


@dataclasses.dataclass(frozen=True, slots=True)
class Fault:
    """A dotted way to a written value, what is wrong with it, and its line in a file."""

    key: str
    detail: str
    line: int | None = None

    def __str__(self) -> str:
        """Word it in one line."""
        place = "" if self.line is None else f"line {self.line}: "
        return f"{place}{self.key}: {self.detail}"


class ReadingError(UserError):
    """Raised where written values cannot be read; carries every fault."""

    def __init__(self, *faults: Fault) -> None:
        super().__init__("\n".join(map(str, faults)))
        self.faults = faults


def read(cls: type[_Instance], table: object, key: str = "") -> _Instance:
    """Read a table of written values into a dataclass whose fields are declared.

    `key` is the dotted way to the table. ReadingError carries every fault: unknown and missing
    names, wrong units, values out of range.
    """
    if not isinstance(table, Mapping):
        raise ReadingError(Fault(key, "is not a table"))
    known = {field.name: field for field in dataclasses.fields(cls)}  # type: ignore[arg-type]
    faults = [
        Fault(_join(key, name), f"is unknown; use {', '.join(known) or 'none'}")
        for name in table
        if name not in known
    ]
    values: dict[str, Any] = {}
    for name, field in known.items():
        if name in table:
            try:
                values[name] = _read_value(spec_of(field), table[name], _join(key, name))
            except ReadingError as error:
                faults.extend(error.faults)
        elif is_required(field):
            faults.append(Fault(_join(key, name), f"is missing: {spec_of(field).doc}"))
    if faults:
        raise ReadingError(*faults)
    try:
        return cls(**values)
    except ValueError as error:
        raise ReadingError(Fault(key, one_line(str(error)))) from error
    except Exception as error:
        raise ReadingError(Fault(key, one_line(f"{type(error).__name__}: {error}"))) from error


def read_quantity(spec: Quantity, written: object, key: str) -> float:
    """Read a quantity such as "28.5 in" into SI; ReadingError if it is none of its dimension."""
    symbols = [unit.symbol for unit in DIMENSIONS[spec.dimension]]
    example = f'a text such as "{_example(spec)}", in {", ".join(symbols)}'
    match = _WRITTEN.fullmatch(written) if isinstance(written, str) else None
    if match is None:
        raise ReadingError(Fault(key, f"is {written!r}, not {example}"))
    figure, symbol = float(match[1]), match[2]
    if symbol not in symbols:
        raise ReadingError(Fault(key, f"has the unit {symbol!r}, not {example}"))
    unit = UNITS[symbol]
    if unit.reciprocal and figure <= 0:
        raise ReadingError(Fault(key, f"is {written!r}, which is not above zero"))
    value = float(unit.to_si(figure))
    if spec.fault_in(value) is not None:
        ends = (spec.high, spec.low) if unit.reciprocal else (spec.low, spec.high)
        least, greatest = (write_quantity(end, symbol) for end in ends)
        raise ReadingError(Fault(key, f"is {written!r}, not between {least} and {greatest}"))
    return value


def write_quantity(value: float, symbol: str) -> str:
    """Write an SI value in a unit, at most at the unit's resolution."""
    unit = UNITS[symbol]
    if unit.reciprocal and value == 0:
        return f"without end {symbol}"
    figure = f"{float(unit.from_si(value)):.{unit.decimals}f}"
    return f"{figure.rstrip('0').rstrip('.') if '.' in figure else figure} {symbol}"


def _read_value(spec: Spec, written: object, key: str) -> Any:
    if spec.most is not None:
        if not isinstance(written, (list, tuple)) or len(written) > spec.most:
            raise ReadingError(Fault(key, f"is not a list of at most {spec.most}"))
        if len(written) < (spec.fewest or 0):
            raise ReadingError(Fault(key, f"is not a list of at least {spec.fewest}"))
        return tuple(_read_value(spec.single, one, f"{key}.{at}") for at, one in enumerate(written))
    if isinstance(spec, Part):
        return read(spec.cls, written, key)
    if isinstance(spec, Quantity):
        return read_quantity(spec, written, key)
    assert isinstance(spec, Plain)
    if (fault := spec.fault_in(written)) is not None:
        raise ReadingError(Fault(key, fault))
    return float(written) if isinstance(spec, Number) else written  # type: ignore[arg-type]


def _example(spec: Quantity) -> str:
    unit = DIMENSIONS[spec.dimension][0]
    middle = (spec.low + spec.high) / 2 or spec.high or 1.0
    return f"{float(unit.from_si(middle)):.4g} {unit.symbol}"


def _join(key: str, name: object) -> str:
    return f"{key}.{name}" if key else str(name)
