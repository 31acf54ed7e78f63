"""What is only read: entries of the catalogues, health and readiness."""

from __future__ import annotations

from typing import Annotated, Literal, TypedDict

from drawmark.answers.common.answer_types import PluginName, RuleName

PluginVersion = Annotated[str, "Its version."]
ServiceVersion = Annotated[str, "Version of the service."]


class RuleEntry(TypedDict):
    """A rule."""

    plugin: PluginName
    rule: RuleName
    title: Annotated[str, "What it is about, in a sentence."]
    needs: Annotated[
        list[str],
        "Fields of the request without which it is not run; `|` where one of several will do.",
    ]
    gives: Annotated[list[str], "What it may say."]
    source: Annotated[str, "Where it comes from; may be empty."]


class PluginState(TypedDict):
    """A plugin, and whether it was loaded."""

    plugin: PluginName
    version: PluginVersion
    status: Annotated[
        Literal["active", "failed"],
        "A plugin that failed to load is `failed`, and `error` says why.",
    ]


class PluginEntry(PluginState):
    """An installed plugin."""

    error: Annotated[str, "Why it failed to load; else empty."]
    rules: Annotated[list[str], "Their rules."]


class PluginSettings(TypedDict):
    """A plugin of a rule set."""

    plugin: PluginName
    version: PluginVersion
    settings: Annotated[dict[str, str], "Settings of the plugin, as texts."]


class MissingPlugin(TypedDict):
    """A plugin that is listed and not active."""

    plugin: PluginName
    reason: Annotated[str, "Why."]


MissingPlugins = Annotated[list[MissingPlugin], "Plugins that are listed and not active."]


class RuleSetEntry(TypedDict):
    """A rule set."""

    ruleset: Annotated[str, "Its name, which a request may state."]
    title: Annotated[str, "What it is for."]
    default: Annotated[bool, "It holds for requests that name none."]
    plugins: Annotated[list[PluginSettings], "The plugins."]
    missing: MissingPlugins


class FieldRange(TypedDict):
    """The range of a field in a unit."""

    field: Annotated[str, "Path of the field."]
    least: Annotated[float, "Least figure that is accepted."]
    greatest: Annotated[float, "Greatest figure that is accepted."]


class UnitEntry(TypedDict):
    """A unit."""

    unit: Annotated[str, "Its symbol on the wire."]
    name: Annotated[str, "Its name."]
    dimension: Annotated[str, "What it measures."]
    si_factor: Annotated[float, "One of it in SI units."]
    reciprocal: Annotated[bool, "It measures the inverse: SI is the factor over the figure."]
    decimals: Annotated[int, "Decimals of figures in answers."]
    fields: Annotated[list[FieldRange], "Fields that take it, and their ranges in it."]


class SourceEntry(TypedDict):
    """A source of constants."""

    source: Annotated[str, "Key by which answers name it."]
    mark: Annotated[
        str,
        "How well it is known: `read`, `secondary`, from `memory`, `derived`, common `practice`, "
        "or the project's `default`; the last two have no source.",
    ]
    text: Annotated[str, "What it is."]


class RuleList(TypedDict):
    """The rules."""

    rules: Annotated[list[RuleEntry], "The rules."]


class PluginList(TypedDict):
    """The plugins."""

    plugins: Annotated[list[PluginEntry], "The plugins."]


class RuleSetList(TypedDict):
    """The rule sets."""

    rulesets: Annotated[list[RuleSetEntry], "The rule sets."]


class UnitList(TypedDict):
    """The units."""

    units: Annotated[list[UnitEntry], "The units."]


class SourceList(TypedDict):
    """The sources."""

    sources: Annotated[list[SourceEntry], "The sources."]


class Health(TypedDict):
    """That the process is alive."""

    status: Annotated[str, "`alive`."]
    version: ServiceVersion


class Readiness(TypedDict):
    """Whether every required plugin is active, and the state of each."""

    status: Annotated[
        Literal["ready", "not_ready"],
        "`ready`, or `not_ready` where a required plugin is not active.",
    ]
    version: ServiceVersion
    revision: Annotated[str, "Revision that was built; may be empty."]
    configuration: Annotated[
        Literal["current", "stale"],
        "`stale` where files were to be read again and had a fault: what was in force before "
        "stays.",
    ]
    plugins: Annotated[list[PluginState], "The plugins."]
    missing: MissingPlugins
