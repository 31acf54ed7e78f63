"""The HTTP service: wire formats, operations, document, server. It computes nothing itself."""

from __future__ import annotations

from typing import Final

from flask import Flask, Request
from flask.sessions import NullSession, SessionInterface
from werkzeug.exceptions import HTTPException

from drawmark.web import bench, calculation_views
from drawmark.web.batch.shared_operations import SharedOperations
from drawmark.web.document.problem_pages import PAGES
from drawmark.web.metrics import metrics_of_process
from drawmark.web.server import service_views
from drawmark.web.server.gateway import Application, Gateway
from drawmark.web.server.host_check import HostCheck
from drawmark.web.server.observability import RequestObserver
from drawmark.web.settings import Settings
from drawmark.web.wire import catalogue, problems
from drawmark.web.wire.callers import Callers, read_callers
from drawmark.web.wire.installed_rules import Rules


class NoSession(SessionInterface):
    """No request has a session: the service keeps no state."""

    _NONE: Final = NullSession()

    def open_session(self, app: Flask, request: Request) -> NullSession:
        """Give the same empty session to every request."""
        return self._NONE


def create_app(settings: Settings | None = None, rules: Rules | Callers | None = None) -> Flask:
    """Build the application; by default with all that is installed and configured."""
    settings = settings or Settings()
    callers = rules if isinstance(rules, Callers) else read_callers(settings, rules)
    operations = SharedOperations(one.rules for one in callers if one.rules is not None)
    app = Flask(__name__, static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = settings.body_limit
    app.config[service_views.CONFIGURATION] = service_views.CURRENT
    app.url_map.strict_slashes = True
    app.url_map.merge_slashes = False
    app.session_interface = NoSession()
    metrics = metrics_of_process()
    app.register_blueprint(calculation_views.blueprint(operations, settings))
    app.register_blueprint(catalogue.blueprint())
    app.register_blueprint(service_views.blueprint(callers, operations, settings.revision, metrics))
    if settings.bench:
        app.register_blueprint(bench.blueprint())
    app.register_error_handler(problems.ProblemError, problems.answer_problem)
    app.register_error_handler(HTTPException, problems.answer_http)
    app.register_error_handler(500, problems.answer_fault)
    pages = frozenset((*PAGES, *(bench.PATHS if settings.bench else ())))
    routes = [rule.rule for rule in app.url_map.iter_rules()]
    gateway: Application = Gateway(app.wsgi_app, settings, callers, pages)
    # Then only this machine is to reach it, but a browser on it lets others' pages ask.
    if not (callers.need_token or settings.allow_open):
        gateway = HostCheck(gateway)
    app.wsgi_app = RequestObserver(  # type: ignore[method-assign]
        gateway, settings, metrics, routes
    )
    return app
