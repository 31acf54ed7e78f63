"""What an operation knows beside its request."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from drawmark.rules.rule_set import RuleSet


class Context(msgspec.Struct, frozen=True, kw_only=True, gc=False):
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
    local: Mapping[str, object] = msgspec.field(default_factory=dict)
    detail: str = "full"
    engine: str = ""

    def with_local(self, local: Mapping[str, object]) -> Context:
        """Give the same with other inputs of local rules."""
        return msgspec.structs.replace(self, local=local)
