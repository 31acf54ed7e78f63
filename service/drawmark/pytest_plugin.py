"""The conformance kit as a fixture of pytest, one test for each check.

A plugin's test module asks for it with ``pytest_plugins = ["drawmark.pytest_plugin"]``, so that no
other test run pays for it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from drawmark.rules.conformance import CHECKS, Conformance
from drawmark.rules.registry import Plugin


@pytest.fixture(params=CHECKS)
def conformance(request: pytest.FixtureRequest) -> Callable[..., None]:
    """Hold a plugin to one check: ``conformance(PLUGIN, settings={...}, trials=150)``."""

    def hold(plugin: Plugin, *, settings: Mapping[str, object] | None = None, **more: Any) -> None:
        failures = Conformance(plugin, settings=settings, **more).failures(request.param)
        if failures:
            pytest.fail("\n".join(map(str, failures)), pytrace=False)

    return hold
