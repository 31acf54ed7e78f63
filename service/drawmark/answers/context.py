"""What an operation knows beside its request."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from drawmark.rules.rulesets import RuleSet


@dataclass(frozen=True, kw_only=True, slots=True)
class Context:
    """What an operation knows beside its request.

    Parameters
    ----------
    ruleset : RuleSet
        Rules in force.
    local : mapping
        Plugins' names to instances of their inputs.
    detail : str
        "full" or "verdict".
    engine : str
        Version of the service.
    """

    ruleset: RuleSet
    local: Mapping[str, object] = field(default_factory=dict)
    detail: str = "full"
    engine: str = ""
