"""The application in force, and how it is replaced while the server runs.

Gunicorn makes workers from the application that its first process built, so that process must
build a new one before a reload changes anything.
"""

from __future__ import annotations

import logging
from collections.abc import Callable

from flask import Flask

from drawmark.errors import UserError
from drawmark.rules.club_folder import SUFFIX
from drawmark.rules.registry import Registry
from drawmark.web.metrics import metrics_of_process
from drawmark.web.server import service_views
from drawmark.web.settings import Settings
from drawmark.web.wire.callers import Callers, read_callers

log = logging.getLogger("drawmark")

AppFactory = Callable[[Settings, Callers], Flask]


class ReloadableApp:
    """The application in force. Imported plugins cannot be replaced without a restart."""

    def __init__(self, create_app: AppFactory, settings: Settings, registry: Registry) -> None:
        self._create_app = create_app
        self._settings, self._registry = settings, registry
        self._callers: Callers | None = None
        self._build()

    def reload(self) -> None:
        """Read configuration and tokens again; if either has a fault, keep both as they were.

        A fault in the file of one of several clubs keeps that club alone as it was.
        """
        try:
            self._build()
        except UserError as error:
            faults = "; ".join(str(error).splitlines())
            log.error("nothing was reloaded, since the new files have faults: %s", faults)
            self._publish(stale=True)
        except (Exception, SystemExit):
            log.exception("nothing was reloaded, since the new application failed to start")
            self._publish(stale=True)
        else:
            log.warning("configuration and tokens were reloaded")

    def _build(self) -> None:
        callers = read_callers(self._settings, registry=self._registry, before=self._callers)
        self.application = self._create_app(self._settings, callers)
        self._callers = callers
        self._log_faults(callers)
        self._publish(stale=bool(callers.clubs and callers.clubs.stale))

    def _log_faults(self, callers: Callers) -> None:
        """Name what is wrong with the files of some clubs, for whoever runs the service alone."""
        for fault in callers.faults:
            log.error("a token is answered nothing: %s", fault)
        if callers.clubs is None:
            return
        for name, error in sorted(callers.clubs.faults.items()):
            closed = name in callers.clubs.closed
            means = "its club is answered nothing" if closed else "earlier rules hold"
            faults = "; ".join(str(error).splitlines())
            log.error("%s%s has faults, and %s: %s", name, SUFFIX, means, faults)

    def _publish(self, stale: bool) -> None:
        assert self._callers is not None
        state = service_views.STALE if stale else service_views.CURRENT
        self.application.config[service_views.CONFIGURATION] = state
        metrics_of_process().set_state(
            self._settings.revision, self._callers.missing, stale, self._callers.clubs
        )
