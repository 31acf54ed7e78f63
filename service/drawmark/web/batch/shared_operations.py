"""Every operation of a service, made once for all callers whose plugins take the same inputs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from drawmark.web.batch.definition import batch_item
from drawmark.web.batch.read_items import batch_decoder
from drawmark.web.wire.callers import NO_RULE_SETS
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.operations import operations_of
from drawmark.web.wire.schemas import Strict


class SharedOperations:
    """The operations by path, for whatever rules a caller sees.

    All are made at the start: workers share their memory, and two threads that make decoders of
    the same types at once can end the process.
    """

    def __init__(self, seen: Iterable[Rules]) -> None:
        self._by_local: dict[type[Strict], Mapping[str, Operation]] = {}
        for rules in seen:
            if rules.local not in self._by_local:
                self._by_local[rules.local] = self._make(rules)

    def _make(self, rules: Rules) -> Mapping[str, Operation]:
        # Without rule sets, it can answer nobody by those of another caller.
        bare = Rules(registry=rules.registry, configuration=NO_RULE_SETS)
        item = batch_item(bare)
        batch_decoder(item.struct)
        return {one.path: one for one in (*operations_of(bare), item)}

    @property
    def paths(self) -> list[str]:
        """Paths under /v1, which are the same for everybody."""
        return list(next(iter(self._by_local.values())))

    def of(self, rules: Rules) -> Mapping[str, Operation]:
        """Give the operations that fit the plugins that a caller sees; they have no rule sets."""
        return self._by_local[rules.local]
