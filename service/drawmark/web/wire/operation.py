"""One calculation on the wire: from body to answer."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from types import ModuleType
from typing import Any, Final

import marshmallow as ma
import msgspec

from drawmark import __version__
from drawmark.answers.common.context import Context
from drawmark.fitting.fields import Choice, Text, takes_local
from drawmark.fitting.model import FittingError
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules.rule_sets import RuleSet
from drawmark.web.wire.checker import type_of
from drawmark.web.wire.conversion import (
    Inputs,
    converter_of,
    leading_units,
    local_converter_of,
)
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.problems import ErrorList, ProblemError, pointer, pointers
from drawmark.web.wire.render import render
from drawmark.web.wire.request_body import decode
from drawmark.web.wire.required_fields import Need, faults_in, read_need
from drawmark.web.wire.schemas import MISFIT, Strict, described, field_of, named, schema_of
from drawmark.web.wire.wire_fields import Converter, OutOfRangeError, Units

LONGEST_ID: Final = 100
REPORT_IN: Final = named(
    "ReportIn",
    {
        name: field_of(Choice(doc=f"Unit of {name}.", choices=tuple(unit.symbol for unit in units)))
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
        Name of its request among the document's components.
    summary : str
        What it answers, one sentence.
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
    summary: str
    rules: Rules
    uses_rules: bool = True
    has_detail: bool = False
    with_id: bool = False
    detail: str = "full"

    @cached_property
    def schema(self) -> type[Strict]:
        """Schema of the request."""
        local = self.rules.local if takes_local(self.module.Request) else None
        request = schema_of(self.module.Request, self.name, local)
        members: dict[str, Any] = dict(request._declared_fields)
        members["report_in"] = ma.fields.Nested(REPORT_IN, **described("Units of the answer."))
        if self.uses_rules:
            members["ruleset"] = field_of(Text(doc="Rule set to apply.", longest=64))
            members["local"] = ma.fields.Nested(
                self.rules.local, **described("Inputs of local rules, by plugin.")
            )
        if self.has_detail:
            members["detail"] = field_of(
                Choice(doc="How much is answered.", choices=("full", "verdict")),
                default=self.detail,
            )
        if self.with_id:
            members["id"] = field_of(Text(doc="Given back with the result.", longest=LONGEST_ID))
        return named(self.name, members)

    @cached_property
    def struct(self) -> type[msgspec.Struct]:
        """Type of an accepted request."""
        return type_of(self.schema)

    @cached_property
    def decoder(self) -> msgspec.json.Decoder[Any]:
        """Decoder of requests that the checker accepts."""
        return msgspec.json.Decoder(self.struct)

    @cached_property
    def _convert(self) -> Converter:
        return converter_of(self.module.Request, self._inputs)

    @cached_property
    def _inputs(self) -> Inputs:
        return tuple(self.rules.inputs.items())

    @cached_property
    def _convert_local(self) -> Converter:
        return local_converter_of(self._inputs)

    @cached_property
    def needs(self) -> tuple[Need, ...]:
        """Fields without which there is no answer."""
        return tuple(map(read_need, self.module.NEEDS))

    def compile(self) -> None:
        """Make what requests are read with, before any thread needs it.

        Several threads that make a decoder of the same types at once end the process: the types
        keep what was found out about them, and are seen half done.
        """
        self.decoder, self.needs, self._convert, self._convert_local  # noqa: B018

    def calculate(self, body: bytes) -> dict[str, Any]:
        """Answer a body with a tree that can be encoded.

        Parameters
        ----------
        body : bytes
            Body of the request.

        Returns
        -------
        dict
            The answer, in the units asked for.

        Raises
        ------
        ProblemError
            If the body is not JSON, not of the schema, or cannot be computed.
        """
        units: Units = {}
        try:
            struct = self.decoder.decode(body)
        except (msgspec.DecodeError, RecursionError, ValueError):
            struct = self._load(body)
        try:
            request = self._convert(struct, units)
            local = self._local(struct, units)
        except OutOfRangeError:
            self._load(body)
            raise
        ruleset = self.ruleset_of(struct.ruleset if self.uses_rules else None)
        self.require_needs(request)
        leading_units(struct, units)
        if struct.report_in is not None:
            asked = msgspec.structs.asdict(struct.report_in)
            units.update({name: unit for name, unit in asked.items() if unit is not None})
        context = Context(
            ruleset=ruleset,
            local=local,
            detail=struct.detail if self.has_detail else self.detail,
            engine=__version__,
        )
        try:
            answer = self.module.answer(request, context)
        except FittingError as error:
            faults = [{"pointer": pointer(one.path), "detail": one.detail} for one in error.faults]
            raise ProblemError(422, "The request cannot be computed.", faults) from error
        return render(answer, units)  # type: ignore[no-any-return]

    def require_needs(self, request: Any) -> None:
        """Refuse a request that lacks what there is no answer without; ProblemError."""
        if lacking := faults_in(request, self.needs):
            raise ProblemError(422, "A field that this operation needs is missing.", lacking)

    def _load(self, body: bytes) -> Any:
        """Load by marshmallow what the checker refused; it decides, and words the problem."""
        given = decode(body)
        try:
            loaded = self.schema().load(given)
        except ma.ValidationError as error:
            faults = pointers(error.messages)
            name = given.get("ruleset") if self.uses_rules and isinstance(given, dict) else None
            if isinstance(name, str) and "ruleset" not in error.messages:
                faults += self._faults_of_ruleset(name)
            raise ProblemError(422, MISFIT, faults) from error
        return msgspec.convert(loaded, self.struct)

    def _local(self, struct: Any, units: Units) -> dict[str, object]:
        if not self.uses_rules or struct.local is None:
            return {}
        given: dict[str, object] = self._convert_local(struct.local, units)
        return given

    def ruleset_of(self, name: str | None) -> RuleSet:
        """Find a rule set by its name; ProblemError where there is none."""
        configuration = self.rules.configuration
        name = configuration.default if name is None else name
        if faults := self._faults_of_ruleset(name):
            raise ProblemError(422, "There is no such rule set.", faults)
        return configuration.rulesets[name]

    def _faults_of_ruleset(self, name: str) -> ErrorList:
        known = self.rules.configuration.rulesets
        if name in known:
            return []
        return [{"pointer": "#/ruleset", "detail": f"must be one of {', '.join(sorted(known))}"}]
