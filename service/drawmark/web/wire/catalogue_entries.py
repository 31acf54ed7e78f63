"""What is only read: entries of the catalogues, health and readiness."""

from __future__ import annotations

from typing import Annotated, Literal, NotRequired, TypedDict

from drawmark.answers.common.answer_types import PluginName, RuleName

PluginStatus = Literal["active", "failed"]
PluginVersion = Annotated[str, "Version."]
ServiceVersion = Annotated[str, "Version of the service."]


RuleKind = Literal["core", "plugin", "stated"]


class RuleEntry(TypedDict):
    """A rule."""

    plugin: PluginName
    rule: RuleName
    kind: Annotated[
        RuleKind,
        "`core` for the service's own, `plugin` for one that was installed, `stated` for one that "
        "the club's file states.",
    ]
    title: Annotated[str, "What the rule is about."]
    rulesets: Annotated[list[str], "Rule sets in which the rule is in force."]
    needs: Annotated[
        list[str],
        "Fields of the request without which the rule is not run. Of fields with `|` "
        "between them, any one is enough.",
    ]
    gives: Annotated[list[str], "What the rule may give."]
    source: Annotated[str, "Source of the rule. May be empty."]


class PluginState(TypedDict):
    """A plugin, and whether it was loaded."""

    plugin: PluginName
    version: PluginVersion
    status: Annotated[
        PluginStatus,
        "`failed` if the plugin did not load: `error` says why.",
    ]
    error: Annotated[str, "Why the plugin failed to load. Otherwise empty."]
    rules_off: Annotated[
        list[str],
        "Rules that are switched off for a while in some process, since they were too slow on "
        "several fittings.",
    ]


class PluginEntry(PluginState):
    """An installed plugin."""

    rules: Annotated[list[str], "Rules of the plugin."]
    deprecated: Annotated[
        list[str],
        "What the plugin uses that is on its way out, with what to use instead. Empty if nothing.",
    ]


class PluginSettings(TypedDict):
    """A plugin of a rule set."""

    plugin: PluginName
    version: PluginVersion
    settings: Annotated[dict[str, str], "Settings of the plugin, as text."]


class MissingPlugin(TypedDict):
    """A plugin that is listed and not active."""

    plugin: PluginName
    reason: Annotated[str, "Why."]


MissingPlugins = Annotated[list[MissingPlugin], "Plugins that are listed and not active."]


class RuleSetEntry(TypedDict):
    """A rule set."""

    ruleset: Annotated[str, "Name of the rule set, which a request may state."]
    title: Annotated[str, "What the rule set is for."]
    default: Annotated[bool, "Whether it is used for requests that name none."]
    plugins: Annotated[list[PluginSettings], "The plugins."]
    missing: MissingPlugins


class FieldRange(TypedDict):
    """The range of a field in a unit."""

    field: Annotated[str, "Path of the field."]
    least: Annotated[float, "Smallest figure that is accepted."]
    greatest: Annotated[float, "Largest figure that is accepted."]


class UnitEntry(TypedDict):
    """A unit."""

    unit: Annotated[str, "Symbol of the unit in requests and answers."]
    name: Annotated[str, "Name."]
    dimension: Annotated[str, "What it measures."]
    si_factor: Annotated[float, "The unit in SI units."]
    reciprocal: Annotated[bool, "Whether the SI figure is the factor divided by the figure."]
    decimals: Annotated[int, "Decimals of figures in answers."]
    fields: Annotated[list[FieldRange], "Fields that take this unit, and their ranges in it."]


class SourceEntry(TypedDict):
    """A source of constants."""

    source: Annotated[str, "Key of the source in answers."]
    mark: Annotated[
        str,
        "How well the source is known: `read`, `secondary`, `memory`, `derived`, `practice` or "
        "`default`. Common practice and the project's defaults have no source.",
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


class ClubCounts(TypedDict):
    """How many clubs there are, and in which state."""

    known: Annotated[int, "Clubs that have a file, or tokens."]
    closed: Annotated[int, "Clubs whose file has faults, so that their callers get 503."]
    stale: Annotated[int, "Clubs whose file has faults since a reload: earlier rules hold."]
    waiting: Annotated[int, "Clubs that require a plugin that is not active."]
    faulty_tokens: Annotated[
        int, "Tokens that name a rule set that their club does not have; their callers get 503."
    ]


class Readiness(TypedDict):
    """Whether every required plugin is active, and the state of each."""

    status: Annotated[
        Literal["ready", "degraded", "not_ready"],
        "`ready`. `degraded` if a plugin failed to load, or a rule is switched off for a while. "
        "`not_ready` if a required plugin is not active; with several clubs, if none can be "
        "answered.",
    ]
    version: ServiceVersion
    revision: Annotated[str, "Revision that was built. May be empty."]
    configuration: Annotated[
        Literal["current", "stale"],
        "`stale` if the last reload found a fault. The earlier configuration then stays in force.",
    ]
    plugins: Annotated[list[PluginState], "The plugins. Empty if the service has several clubs."]
    missing: MissingPlugins
    clubs: NotRequired[
        Annotated[ClubCounts, "Where each club has a file of its own: how many there are."]
    ]
