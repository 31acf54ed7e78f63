"""One calculation on the wire: from body to answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from types import ModuleType
from typing import Any, Final

import marshmallow as ma
import msgspec

from drawmark import __version__
from drawmark.answers.common.context import Context
from drawmark.fitting.faults import FittingError
from drawmark.fitting.field_kinds import Choice, Local, Part, Text
from drawmark.fitting.fields import specs_of, takes_local
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules.field_paths import parse_need
from drawmark.rules.rule_set import RuleSet
from drawmark.web.wire.body_limit import body_limit_of
from drawmark.web.wire.bounded_list import BoundedList, one_body
from drawmark.web.wire.checker import type_of
from drawmark.web.wire.conversion import (
    Inputs,
    converter_of,
    leading_units,
    local_converter_of,
)
from drawmark.web.wire.deprecated_members import (
    DeprecatedMembers,
    deprecated_inputs,
    deprecated_members,
)
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.length_limit import with_limits
from drawmark.web.wire.plain_field import Units
from drawmark.web.wire.problems import MISFIT, ErrorList, ProblemError, pointer, pointers
from drawmark.web.wire.quantity_field import OutOfRangeError
from drawmark.web.wire.render import render
from drawmark.web.wire.repeated_names import refuse_repeated_names
from drawmark.web.wire.request_body import AT_ONCE, BYTE_ORDER_MARK, decode, has_mark
from drawmark.web.wire.required_fields import faults_in
from drawmark.web.wire.schemas import Strict, described, field_of, named, schema_of
from drawmark.web.wire.split_body import outline

Answer = Callable[[Any, Context], Any]
LONGEST_ID: Final = 100
LONGEST_RULE_SET: Final = 64
DETAILS: Final = ("full", "verdict")
REPORT_IN: Final = named(
    "ReportIn",
    {
        name: field_of(Choice(doc=f"Unit of {name}.", choices=tuple(unit.symbol for unit in units)))
        for name, units in DIMENSIONS.items()
        if name != "frequency"
    },
)


_UNUSED: Final = (
    "The rule set {!r} does not use this plugin. Leave its inputs out, or choose another rule set."
)


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
    in_batch : bool
        Answers an item of a batch: takes an `id`, and says no more than the verdict unless asked.
    """

    def __init__(
        self,
        path: str,
        module: ModuleType,
        name: str,
        summary: str,
        rules: Rules,
        *,
        uses_rules: bool = True,
        has_detail: bool = False,
        in_batch: bool = False,
    ) -> None:
        self.path, self.module, self.name, self.summary = path, module, name, summary
        self.anchor = path.replace("/", "-")
        """Name of the operation in the document."""
        self.rules, self.uses_rules, self._has_detail = rules, uses_rules, has_detail
        # In a batch the look for repeated names would cost a tenth of an item.
        self._in_batch = in_batch
        self._usual_detail = "verdict" if in_batch else "full"
        self.schema = _schema_of(
            module.Request,
            name,
            rules.local,
            uses_rules,
            self._usual_detail if has_detail else None,
            in_batch,
        )
        # Two threads that make decoders of the same types at once can end the process, so all
        # are made before a request comes.
        self.struct = type_of(self.schema)
        self._words = self.schema()
        items = {
            field.limit: field.accepted
            for field in self._words.fields.values()
            if isinstance(field, BoundedList) and field.limit is not None
        }
        self._limits = tuple(items)
        self.body_limit = body_limit_of(self.schema) if items else AT_ONCE
        """Largest body [byte]."""
        self.decoder: msgspec.json.Decoder[Any] = msgspec.json.Decoder(
            with_limits(self.struct, items) if items else self.struct
        )
        self.inputs: Inputs = tuple(rules.inputs.items())
        members = deprecated_members(module.Request, self.inputs)
        local = deprecated_inputs(self.inputs, ("local",)) if uses_rules else ()
        self.deprecated = DeprecatedMembers((*members, *local), self.anchor)
        """Members of its requests that are on their way out."""
        self.convert = converter_of(module.Request, self.inputs)
        self._convert_local = local_converter_of(self.inputs)
        self._with_local = tuple(
            name
            for name, spec in specs_of(module.Request).items()
            if isinstance(spec, Part) and spec.is_list and takes_local(spec.cls)
        )
        self._needs = tuple(map(parse_need, module.NEEDS))

    def for_rules(self, rules: Rules) -> Operation:
        """Give the same operation with other rule sets and plugins that take the same inputs."""
        other = object.__new__(Operation)
        other.__dict__.update(self.__dict__, rules=rules)
        return other

    def calculate(self, body: bytes, answer: Answer | None = None) -> dict[str, Any]:
        """Answer a body with a tree that can be encoded; ProblemError if there is no answer.

        Another `answer` than the operation's own may say more: a drawing's marks, for one.
        """
        units: Units = {}
        try:
            for limit in self._limits:
                limit.start()
            struct = self.decoder.decode(body)
        except (msgspec.DecodeError, RecursionError, ValueError):
            if has_mark(body):
                return self.calculate(body.removeprefix(BYTE_ORDER_MARK), answer)
            struct = self._load(body)
        if not self._in_batch:
            refuse_repeated_names(body, struct)
        leading_units(struct, units)
        try:
            request = self.convert(struct, units)
            local = self._local(struct, units)
        except OutOfRangeError:
            struct = None
        if struct is None:
            self._load(body)
            raise AssertionError("the schema accepts a figure that is out of range")
        ruleset = self.ruleset_of(struct.ruleset if self.uses_rules else None)
        self.refuse_unused(request, local, ruleset)
        self.require_needs(request)
        if struct.report_in is not None:
            asked = msgspec.structs.asdict(struct.report_in)
            units.update({name: unit for name, unit in asked.items() if unit is not None})
        context = Context(
            ruleset=ruleset,
            local=local,
            detail=struct.detail if self._has_detail else self._usual_detail,
            engine=__version__,
        )
        try:
            tree = (answer or self.module.answer)(request, context)
        except FittingError as error:
            faults = [{"pointer": pointer(one.path), "detail": one.detail} for one in error.faults]
            raise ProblemError(422, "The request cannot be computed.", faults) from error
        return render(tree, units)  # type: ignore[no-any-return]

    def require_needs(self, request: Any) -> None:
        """Refuse a request that lacks a needed field; ProblemError."""
        if lacking := faults_in(request, self._needs):
            raise ProblemError(422, "A field that this operation needs is missing.", lacking)

    def refuse_unused(self, request: Any, local: Mapping[str, object], ruleset: RuleSet) -> None:
        """Refuse inputs for a plugin that the rule set does not use: nobody would look at them."""
        given: list[tuple[tuple[str | int, ...], Mapping[str, object]]] = [(("local",), local)]
        for name in self._with_local:
            given += [
                ((name, at, "local"), one.local or {})
                for at, one in enumerate(getattr(request, name) or ())
            ]
        faults = [
            {"pointer": pointer((*path, plugin)), "detail": _UNUSED.format(ruleset.name)}
            for path, inputs in given
            for plugin in inputs
            if plugin not in ruleset.plugins
        ]
        if faults:
            raise ProblemError(422, "Nobody would look at some of the inputs.", faults)

    def _load(self, body: bytes) -> Any:
        """Load by marshmallow what the checker refused; it decides, and words the problem."""
        if self._limits:
            given = outline(body, self._limits)
        elif len(body) <= AT_ONCE:
            given = decode(body)
        else:
            raise ProblemError(413, f"This is longer than {AT_ONCE} bytes.")
        try:
            with one_body():
                loaded = self._words.load(given)
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


# Made once, however often a service reads its files again.
@cache
def _schema_of(
    request: type,
    name: str,
    local: type[Strict],
    uses_rules: bool,
    usual_detail: str | None,
    in_batch: bool,
) -> type[Strict]:
    members: dict[str, Any] = dict(schema_of(request, name, local)._declared_fields)
    members["report_in"] = ma.fields.Nested(REPORT_IN, **described("Units of the answer."))
    if uses_rules:
        members["ruleset"] = field_of(Text(doc="Rule set to apply.", longest=LONGEST_RULE_SET))
        members["local"] = field_of(Local(doc="Inputs of local rules, by plugin."), local=local)
    if usual_detail is not None:
        members["detail"] = field_of(
            Choice(doc="How much is answered.", choices=DETAILS), default=usual_detail
        )
    if in_batch:
        members["id"] = field_of(Text(doc="Given back with the result.", longest=LONGEST_ID))
    return named(name, members)
