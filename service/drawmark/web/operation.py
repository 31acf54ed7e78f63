"""One calculation on the wire: from body to answer."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from types import ModuleType
from typing import Any

import marshmallow as ma
import msgspec

from drawmark import __version__
from drawmark.answers.context import Context
from drawmark.fitting.model import FittingError
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules.registry import Registry
from drawmark.rules.rulesets import Configuration
from drawmark.web.checker import attribute_of, type_of
from drawmark.web.convert import Converter, OutOfRangeError, Units, converter_of, leading_units
from drawmark.web.fields import Choice, Text
from drawmark.web.problems import ProblemError, pointer, pointers
from drawmark.web.render import render
from drawmark.web.schemas import Strict, named, schema_of


@dataclass(frozen=True, kw_only=True)
class Rules:
    """What the service knows of rules: plugins and rule sets."""

    registry: Registry
    configuration: Configuration

    @cached_property
    def inputs(self) -> dict[str, type]:
        """Inputs of the active plugins, by name."""
        return {
            plugin.name: plugin.inputs
            for plugin in self.registry.active
            if plugin.inputs is not None
        }

    @cached_property
    def local(self) -> type[Strict]:
        """Schema of `local`."""
        return named(
            "Local",
            {
                name: ma.fields.Nested(schema_of(cls, component_of(name, "Inputs")))
                for name, cls in self.inputs.items()
            },
        )


def component_of(plugin: str, role: str) -> str:
    """Name the component of a plugin's dataclass from plugin and role."""
    return "".join(word.capitalize() for word in plugin.split("-")) + role


REPORT_IN = named(
    "ReportIn",
    {
        name: Choice(
            tuple(unit.symbol for unit in units), metadata={"description": f"Unit of {name}."}
        )
        for name, units in DIMENSIONS.items()
        if name != "frequency"
    },
)


@dataclass(frozen=True, kw_only=True)
class Operation:
    """One POST operation.

    Parameters
    ----------
    path : str
        Path under /v1.
    module : ModuleType
        Module of `drawmark.answers` with Request, NEEDS and answer.
    name : str
        Name of its components.
    rules : Rules
        Plugins and rule sets.
    uses_rules : bool
        Takes `ruleset` and `local`.
    has_detail : bool
        Takes `detail`.
    with_id : bool
        Takes an `id`, as an item of a batch.
    detail : str
        The default.
    """

    path: str
    module: ModuleType
    name: str
    rules: Rules
    uses_rules: bool = True
    has_detail: bool = False
    with_id: bool = False
    detail: str = "full"

    @cached_property
    def schema(self) -> type[Strict]:
        """Schema of the request."""
        request = schema_of(self.module.Request, self.name)
        members: dict[str, Any] = dict(request._declared_fields)
        members["report_in"] = ma.fields.Nested(
            REPORT_IN, metadata={"description": "Units of the answer."}
        )
        if self.uses_rules:
            members["ruleset"] = Text(64, metadata={"description": "Rule set to apply."})
            members["local"] = ma.fields.Nested(
                self.rules.local, metadata={"description": "Inputs of local rules, by plugin."}
            )
        if self.has_detail:
            members["detail"] = Choice(
                ("full", "verdict"),
                load_default=self.detail,
                metadata={"description": "How much is answered."},
            )
        if self.with_id:
            members["id"] = Text(100, metadata={"description": "Given back with the result."})
        return named(self.name, members)

    @cached_property
    def _decoder(self) -> msgspec.json.Decoder[Any]:
        return msgspec.json.Decoder(type_of(self.schema))

    @cached_property
    def _convert(self) -> Converter:
        return converter_of(self.module.Request)

    @cached_property
    def _needs(self) -> tuple[tuple[str, tuple[tuple[str, ...], ...]], ...]:
        return tuple(
            (need, tuple(tuple(way.split(".")) for way in need.split("|")))
            for need in self.module.NEEDS
        )

    def read(self, body: bytes) -> Any:
        """Decode a body; ProblemError where it is not JSON or not of the schema."""
        try:
            return self._decoder.decode(body)
        except (msgspec.DecodeError, RecursionError, ValueError):
            return self._refuse_or_convert(body)

    def _refuse_or_convert(self, body: bytes) -> Any:
        raw = decode(body)
        try:
            loaded = self.schema().load(raw)
        except ma.ValidationError as error:
            raise ProblemError(
                422, "The request does not fit its schema.", pointers(error.messages)
            ) from error
        try:
            return msgspec.convert(loaded, type_of(self.schema))
        except msgspec.ValidationError as error:
            raise ProblemError(
                422, "The request does not fit its schema.", pointers([str(error)])
            ) from error

    def calculate(self, body: bytes) -> dict[str, Any]:
        """Answer a body with a tree that can be encoded.

        Raises
        ------
        ProblemError
            If the body is not JSON, not of the schema, or cannot be computed.
        """
        struct = self.read(body)
        units: Units = {}
        try:
            request = self._convert(struct, units)
            local = self._local(struct, units)
        except OutOfRangeError:
            self._refuse_or_convert(body)
            raise ProblemError(422, "A quantity is out of its range.") from None
        self._check_needs(request)
        leading_units(struct, units)
        if struct.report_in is not None:
            asked = msgspec.structs.asdict(struct.report_in)
            units.update({name: unit for name, unit in asked.items() if unit is not None})
        context = Context(
            ruleset=self._ruleset(struct),
            local=local,
            detail=struct.detail if self.has_detail else self.detail,
            engine=__version__,
        )
        try:
            return render(self.module.answer(request, context), units)  # type: ignore[no-any-return]
        except FittingError as error:
            raise ProblemError(
                422,
                "The request cannot be computed.",
                [{"pointer": pointer(one.path), "detail": one.detail} for one in error.faults],
            ) from error

    def _local(self, struct: Any, units: Units) -> dict[str, object]:
        if not self.uses_rules or struct.local is None:
            return {}
        given = {name: getattr(struct.local, attribute_of(name)) for name in self.rules.inputs}
        return {
            name: converter_of(self.rules.inputs[name])(value, units)
            for name, value in given.items()
            if value is not None
        }

    def _ruleset(self, struct: Any) -> Any:
        configuration = self.rules.configuration
        name = struct.ruleset if self.uses_rules else None
        if name is None:
            return configuration.rulesets[configuration.default]
        found = configuration.rulesets.get(name)
        if found is None:
            known = ", ".join(sorted(configuration.rulesets))
            raise ProblemError(
                422,
                "There is no such rule set.",
                [{"pointer": "#/ruleset", "detail": f"must be one of {known}"}],
            )
        return found

    def _check_needs(self, request: Any) -> None:
        errors = []
        for _, ways in self._needs:
            if not any(_has(request, way) for way in ways):
                others = " or ".join(".".join(way) for way in ways[1:])
                detail = "needed" + (f": this, or {others}" if others else "")
                errors.append({"pointer": pointer(ways[0]), "detail": detail})
        if errors:
            raise ProblemError(422, "A field that this operation needs is missing.", errors)


def _has(request: Any, way: tuple[str, ...]) -> bool:
    value = request
    for step in way:
        value = getattr(value, step)
        if value is None:
            return False
    return True


def decode(body: bytes) -> Any:
    """Decode JSON without a type; ProblemError where it is none."""
    try:
        return msgspec.json.decode(body)
    except RecursionError as error:
        raise ProblemError(400, "The body is nested too deeply.") from error
    except (msgspec.DecodeError, ValueError) as error:
        raise ProblemError(400, f"The body is not JSON: {str(error)[:200]}") from error
