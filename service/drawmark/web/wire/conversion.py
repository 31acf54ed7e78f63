"""From accepted bodies to the dataclasses of the lower layers, in SI."""

from __future__ import annotations

from functools import cache
from operator import attrgetter
from typing import Any, Final

from drawmark.fitting.field_kinds import Local, Part, Plain, Spec
from drawmark.fitting.fields import declared, reader_of, takes_local
from drawmark.rules.guard import FailedError, guard
from drawmark.rules.outcome import sentence
from drawmark.rules.validation import one_line
from drawmark.web.wire.checker import attribute_of
from drawmark.web.wire.plain_field import Converter, Units
from drawmark.web.wire.problems import MISFIT, ProblemError, pointer
from drawmark.web.wire.quantity_field import OutOfRangeError
from drawmark.web.wire.wire_fields import FIELDS

Inputs = tuple[tuple[str, type], ...]

# Whose unit an answer is given in, where the request used several of one dimension.
LEADING: Final = {
    "length": ("archer.draw_length", "archer.draws", "arrow.length"),
    "mass": ("arrow.point.mass",),
}
_LEADING_READERS: Final = [
    (dimension, [attrgetter(path) for path in paths]) for dimension, paths in LEADING.items()
]


@cache
def converter_of(cls: type, inputs: Inputs = ()) -> Converter:
    """Make the conversion of accepted structs into a declared dataclass.

    `inputs` are the plugins' dataclasses, for classes that take them.
    """
    plan = [(name, default, step_of(spec, inputs)) for name, spec, default in declared(cls)]
    if "__slots__" not in vars(cls) or hasattr(cls, "__post_init__"):
        return lambda struct, units: cls(
            **{
                name: _value(getattr(struct, name), default, step, units)
                for name, default, step in plan
            }
        )
    # Every request is converted, and `cls(...)` sets the fields of a frozen class slowly.
    steps = [(default, step, getattr(cls, name).__set__) for name, default, step in plan]
    read = reader_of([name for name, _, _ in plan])
    new = object.__new__

    def convert(struct: Any, units: Units) -> Any:
        instance: Any = new(cls)
        for value, (default, step, set_field) in zip(read(struct), steps, strict=True):
            if value is None:
                value = default
            elif step is not None:
                value = step(value, units)
            set_field(instance, value)
        return instance

    return convert


def _value(value: Any, default: Any, step: Converter | None, units: Units) -> Any:
    if value is None:
        return default
    return value if step is None else step(value, units)


def leading_units(struct: Any, units: Units) -> None:
    """Let draw or arrow length, point mass and distance choose the units of the answer."""
    for dimension, readers in _LEADING_READERS:
        for read in readers:
            try:
                value = read(struct)
            except AttributeError:  # A part on the way is not given, or not taken.
                continue
            if value is not None:
                units[dimension] = value[0].unit if type(value) is list else value.unit
                break
    shots = getattr(struct, "shots", None)
    if shots:
        units["distance"] = shots[-1].distance.unit


def local_converter_of(inputs: Inputs) -> Converter:
    """Make the conversion of the inputs of local rules into a dictionary by plugin."""
    steps = [(name, attribute_of(name), _inputs_converter_of(name, cls)) for name, cls in inputs]

    def convert(struct: Any, units: Units) -> dict[str, object]:
        given = ((name, getattr(struct, attribute), step) for name, attribute, step in steps)
        return {name: step(value, units) for name, value, step in given if value is not None}

    return convert


def _inputs_converter_of(plugin: str, cls: type) -> Converter:
    """Make the conversion of one plugin's inputs, which may refuse them in its `__post_init__`."""
    step = converter_of(cls)
    if not hasattr(cls, "__post_init__"):
        return step
    at_plugin = pointer(("local", plugin))

    def convert(value: Any, units: Units) -> Any:
        def make(_: object) -> list[object]:
            try:
                return [step(value, units)]
            except OutOfRangeError as error:
                return [error]
            except ValueError as error:
                return [str(error)]

        (made,) = guard.call_each([((plugin, "inputs"), make)], None)
        result = f"The plugin's check {made}" if isinstance(made, FailedError) else made[0]
        if isinstance(result, OutOfRangeError):
            raise result
        if isinstance(result, str):
            detail = sentence(one_line(result) or "The plugin refuses these inputs together")
            raise ProblemError(422, MISFIT, [{"pointer": at_plugin, "detail": detail}])
        return result

    return convert


def step_of(spec: Spec, inputs: Inputs) -> Converter | None:
    """Make the conversion of one field; None where its value stays as it is."""
    single = _single_step_of(spec, inputs)
    if not spec.is_list:
        return single
    if single is None:
        return lambda values, units: tuple(values)
    if isinstance(spec, Part):
        return _convert_parts(single)
    return lambda values, units: tuple([single(value, units) for value in values])


def _convert_parts(single: Converter) -> Converter:
    """Convert a list of parts and empty it: a long one in both forms would take much memory."""

    def convert(values: list[Any], units: Units) -> Any:
        values.reverse()
        return tuple([single(values.pop(), units) for _ in range(len(values))])

    return convert


def _single_step_of(spec: Spec, inputs: Inputs) -> Converter | None:
    if isinstance(spec, Plain):
        return FIELDS[type(spec)].converter(spec)
    if isinstance(spec, Local):
        return local_converter_of(inputs)
    assert isinstance(spec, Part)
    return converter_of(spec.cls, inputs if takes_local(spec.cls) else ())
