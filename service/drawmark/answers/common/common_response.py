"""What every answer with rules carries."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Annotated, NotRequired, TypedDict

import msgspec

from drawmark.answers.common import cautions
from drawmark.answers.common.answer_types import Certainty, PluginName, RuleName, Texts, status_of
from drawmark.answers.common.assumed import ASSUMABLE, assumed_of
from drawmark.answers.common.context import Context
from drawmark.fitting import limits
from drawmark.fitting.facts import Facts
from drawmark.rules import outcome as outcomes
from drawmark.rules.outcome import Applied, Outcome


class Unevaluated(TypedDict):
    """A rule that could not be evaluated."""

    plugin: PluginName
    rule: RuleName
    reason: Annotated[str, "Why it could not be evaluated."]


class NotChecked(TypedDict):
    "Something that was not checked because fields are missing."

    what: Annotated[str, "What was not checked."]
    fields: Annotated[
        list[str],
        "Paths of the request's fields that are needed for it, all of them. Of paths with `|` "
        "between them, any one is enough. Empty if no field would help.",
    ]
    plugin: NotRequired[PluginName]
    rule: NotRequired[RuleName]


class RuleApplied(TypedDict):
    """A plugin whose rules are in force."""

    plugin: PluginName
    version: Annotated[str, "Version."]


class Engine(TypedDict):
    """What computed an answer."""

    name: Annotated[str, "Name."]
    version: Annotated[str, "Version."]


Cautions = Annotated[Texts, "Cautions to show to whoever handles the arrow."]
UnevaluatedRules = Annotated[
    list[Unevaluated],
    "Rules that could not be evaluated. Their floors may be missing.",
]
NotCheckedList = Annotated[
    list[NotChecked] | msgspec.Raw,
    "What was not checked, and which fields would allow it.",
]
RulesApplied = Annotated[list[RuleApplied] | msgspec.Raw, "Plugins whose rules were applied."]
RuleSetName = Annotated[str, "Name of the rule set that was applied."]
EngineUsed = Annotated[Engine, "Service that computed this answer."]


class CommonWithoutRules(TypedDict):
    """What every answer carries."""

    not_checked: NotCheckedList
    cautions: Cautions
    engine: EngineUsed


class Common(CommonWithoutRules):
    """What every answer with rules carries."""

    unevaluated: UnevaluatedRules
    rules_applied: RulesApplied
    ruleset: RuleSetName


class Demand(TypedDict):
    """The floor that asks for the most."""

    plugin: PluginName
    rule: RuleName
    floor: Annotated[str, "Name of the floor."]
    reason: Annotated[str, "Why."]


def common_response(outcome: Outcome, context: Context, usual: Sequence[str]) -> Common:
    """Give what every answer with rules carries."""
    return {
        "cautions": encode_texts((*usual, *cautions_about(outcome.facts))),
        "unevaluated": unevaluated_response(outcome.unevaluated),
        "not_checked": not_checked_response((*assumed_of(outcome.facts), *outcome.not_checked)),
        "rules_applied": applied_response(outcome.applied),
        "ruleset": context.ruleset.name,
        "engine": engine_response(context),
    }


def cautions_about(facts: Facts) -> tuple[str, ...]:
    """Give the cautions that depend on what is known of the draw and on its control."""
    if facts.control == "clicker":
        return (cautions.MOVED_BLADE,)
    if facts.control == "draw_stop":
        return (cautions.MOVED_STOP,)
    if facts.control == "none" and (facts.count is None or facts.count < limits.FEW_DRAWS):
        return (cautions.FEW_DRAWS,)
    return ()


def unevaluated_response(unevaluated: Sequence[outcomes.Unevaluated]) -> list[Unevaluated]:
    """List rules that could not be evaluated."""
    return [{"plugin": one.plugin, "rule": one.rule, "reason": one.reason} for one in unevaluated]


def engine_response(context: Context) -> Engine:
    """Give name and version of the service."""
    return {"name": "drawmark", "version": context.engine}


@lru_cache(maxsize=1024)
def not_checked_response(several: tuple[outcomes.NotChecked, ...]) -> msgspec.Raw:
    """List rules that were not run, and the fields that would allow them; encoded once."""
    return encode_not_checked(several)


def encode_not_checked(several: Sequence[outcomes.NotChecked]) -> msgspec.Raw:
    """Give the same of a list that holds words of a request, which no cache should keep."""
    return msgspec.Raw(
        msgspec.json.encode(
            [
                {"what": one.what, "fields": one.fields, "plugin": one.plugin, "rule": one.rule}
                for one in several
            ]
        )
    )


@lru_cache(maxsize=256)
def encode_texts(texts: tuple[str, ...]) -> msgspec.Raw:
    """Give texts that are the same in every answer; encoded once."""
    return msgspec.Raw(msgspec.json.encode(texts))


# The rules that a thousand clubs state have a version each.
@lru_cache(maxsize=4096)
def applied_response(applied: tuple[Applied, ...]) -> msgspec.Raw:
    """Give the plugins in force; encoded once."""
    return msgspec.Raw(
        msgspec.json.encode([{"plugin": one.plugin, "version": one.version} for one in applied])
    )


class Aggregate:
    """Collects what an answer says once about many outcomes."""

    def __init__(self) -> None:
        self._unevaluated: dict[tuple[str, str], outcomes.Unevaluated] = {}
        self._not_checked: dict[tuple[str, str, tuple[str, ...]], outcomes.NotChecked] = {}
        self._facts: list[Facts] = []
        self.determinate = True

    def add(self, outcome: Outcome) -> None:
        """Add what was said of one fitting."""
        self.add_parts(outcome.unevaluated, outcome.not_checked)
        self._facts.append(outcome.facts)
        self.determinate = self.determinate and outcome.determinate

    def add_parts(
        self,
        unevaluated: Iterable[outcomes.Unevaluated],
        not_checked: Iterable[outcomes.NotChecked],
    ) -> None:
        """Add rules that could not be evaluated, and rules that lacked fields."""
        for failed in unevaluated:
            self._unevaluated.setdefault((failed.plugin, failed.rule), failed)
        for lacking in not_checked:
            key = (lacking.plugin, lacking.rule, lacking.fields)
            self._not_checked.setdefault(key, lacking)

    def add_facts(self, facts: Sequence[Facts]) -> None:
        """Add what is known of archers, for what it says of their growth."""
        self._facts.extend(facts)

    def response(
        self, context: Context, cautions: Sequence[str], *further: outcomes.NotChecked
    ) -> Common:
        """Give what every answer carries."""
        lacking = [one for _, one in sorted(self._not_checked.items())]
        assumed = {one for facts in self._facts for one in assumed_of(facts)}
        hanging = dict.fromkeys(words for facts in self._facts for words in cautions_about(facts))
        return {
            "cautions": encode_texts((*cautions, *hanging)),
            "unevaluated": unevaluated_response(
                [one for _, one in sorted(self._unevaluated.items())]
            ),
            "not_checked": encode_not_checked(
                (*(one for one in ASSUMABLE if one in assumed), *lacking, *further)
            ),
            "rules_applied": applied_response(context.ruleset.applied),
            "ruleset": context.ruleset.name,
            "engine": engine_response(context),
        }

    @property
    def status(self) -> Certainty:
        """Tell whether a floor may be missing anywhere."""
        return status_of(self.determinate)


def demand_of(outcome: Outcome) -> Demand | None:
    """Name the rule and the floor that ask for the most; None where no rule set a floor."""
    if not outcome.floors:
        return None
    placed = max(outcome.floors, key=lambda one: float(one.said.length))
    return {
        "plugin": placed.plugin,
        "rule": placed.rule,
        "floor": placed.said.id or placed.rule,
        "reason": placed.said.reason,
    }
