"""The HTTP service: wire formats, operations, document. No arithmetic of the trade."""

from __future__ import annotations

from flask import Flask
from werkzeug.exceptions import HTTPException

from drawmark.web.metrics import metrics_of_process
from drawmark.web.server import health
from drawmark.web.server.gateway import Door
from drawmark.web.server.observability import Observed
from drawmark.web.server.tokens import read_tokens
from drawmark.web.settings import Settings
from drawmark.web.wire import catalogue, operations, problems
from drawmark.web.wire.installed_rules import Rules, installed_rules


def create_app(settings: Settings | None = None, rules: Rules | None = None) -> Flask:
    """Build the application.

    Parameters
    ----------
    settings : Settings or None
        Settings; the defaults where None.
    rules : Rules or None
        Plugins and rule sets; those installed and configured where None.

    Returns
    -------
    Flask
        The application.

    Raises
    ------
    ReadingError
        If the club's configuration has faults.
    SettingError
        If the file of tokens has one.
    """
    settings = settings or Settings()
    rules = rules or installed_rules(settings.config)
    tokens = read_tokens(settings.tokens_file) if settings.tokens_file else None
    app = Flask(__name__, static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = settings.body_limit
    app.url_map.strict_slashes = True
    app.register_blueprint(operations.blueprint(rules, settings))
    app.register_blueprint(catalogue.blueprint(rules))
    app.config[health.CONFIGURATION] = health.CURRENT
    metrics = metrics_of_process()
    app.register_blueprint(health.blueprint(rules, settings.revision, metrics))
    app.register_error_handler(problems.ProblemError, problems.answer_problem)
    app.register_error_handler(HTTPException, problems.answer_http)
    app.register_error_handler(500, problems.answer_fault)
    routes = [rule.rule for rule in app.url_map.iter_rules()]
    door = Door(app.wsgi_app, settings, tokens)
    app.wsgi_app = Observed(door, settings, metrics, routes)  # type: ignore[method-assign]
    return app
