"""The one hook of a plugin."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import pluggy

from drawmark.rules.model import Rule

PROJECT: Final = "drawmark"

hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


class Hooks:
    """What a plugin can implement."""

    @hookspec
    def drawmark_rules(self) -> Iterable[Rule]:
        """Give the rules of the plugin; called once, at the start of the service."""
        return ()


class RuleError(ValueError):
    """Raised if the rules of a plugin cannot be accepted; names every fault."""
