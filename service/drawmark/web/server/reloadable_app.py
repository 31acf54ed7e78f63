"""The application in force, and how it is made anew while the server runs.

Workers are made from an application that the first process built: a signal to read again changes
nothing, unless that process builds another.
"""

from __future__ import annotations

import logging

from flask import Flask

from drawmark.rules.registry import Registry
from drawmark.rules.rule_sets import configure
from drawmark.rules.text_values import ReadingError
from drawmark.web import create_app
from drawmark.web.metrics import metrics_of_process
from drawmark.web.server import health
from drawmark.web.settings import SettingError, Settings
from drawmark.web.wire.installed_rules import Rules

log = logging.getLogger("drawmark")


class Standing:
    """What is in force.

    Parameters
    ----------
    settings : Settings
        Settings; they do not change while the server runs, the files that they name may.
    registry : Registry
        The plugins. They are loaded once: code that is loaded cannot be told to be another.

    Raises
    ------
    ReadingError
        If the club's configuration has faults.
    SettingError
        If the file of tokens has one.
    """

    def __init__(self, settings: Settings, registry: Registry) -> None:
        self._settings, self._registry = settings, registry
        self.application, self._missing = self._build()
        self._state(health.CURRENT)

    def renew(self) -> None:
        """Read configuration and tokens again; where either has a fault both stay as they were."""
        try:
            self.application, self._missing = self._build()
        except (ReadingError, SettingError) as error:
            faults = "; ".join(str(error).splitlines())
            log.error("what was in force stays in force, since the new has faults: %s", faults)
            self._state(health.STALE)
        except (Exception, SystemExit):
            log.exception("what was in force stays in force, since the new cannot be built")
            self._state(health.STALE)
        else:
            log.warning("configuration and tokens were read again")
            self._state(health.CURRENT)

    def _build(self) -> tuple[Flask, int]:
        configuration = configure(self._registry, self._settings.config)
        rules = Rules(registry=self._registry, configuration=configuration)
        return create_app(self._settings, rules), len(configuration.missing)

    def _state(self, configuration: str) -> None:
        self.application.config[health.CONFIGURATION] = configuration
        metrics_of_process().state(
            self._settings.revision, self._missing, stale=configuration == health.STALE
        )
