"""The application in force, and how it is replaced while the server runs.

Gunicorn makes workers from the application that its first process built, so that process must
build a new one before a reload changes anything.
"""

from __future__ import annotations

import logging
from collections.abc import Callable

from flask import Flask

from drawmark.errors import UserError
from drawmark.rules.registry import Registry
from drawmark.web.metrics import metrics_of_process
from drawmark.web.server import service_views
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import Rules, installed_rules

log = logging.getLogger("drawmark")

AppFactory = Callable[[Settings, Rules], Flask]


class ReloadableApp:
    """The application in force. Imported plugins cannot be replaced without a restart."""

    def __init__(self, create_app: AppFactory, settings: Settings, registry: Registry) -> None:
        self._create_app = create_app
        self._settings, self._registry = settings, registry
        self.application, self._missing = self._build()
        self._publish(service_views.CURRENT)

    def reload(self) -> None:
        """Read configuration and tokens again; if either has a fault, keep both as they were."""
        try:
            self.application, self._missing = self._build()
        except UserError as error:
            faults = "; ".join(str(error).splitlines())
            log.error("nothing was reloaded, since the new files have faults: %s", faults)
            self._publish(service_views.STALE)
        except (Exception, SystemExit):
            log.exception("nothing was reloaded, since the new application failed to start")
            self._publish(service_views.STALE)
        else:
            log.warning("configuration and tokens were reloaded")
            self._publish(service_views.CURRENT)

    def _build(self) -> tuple[Flask, int]:
        rules = installed_rules(self._settings.config, self._registry)
        return self._create_app(self._settings, rules), len(rules.configuration.missing)

    def _publish(self, configuration: str) -> None:
        self.application.config[service_views.CONFIGURATION] = configuration
        metrics_of_process().set_state(
            self._settings.revision, self._missing, stale=configuration == service_views.STALE
        )
