"""The HTTP service: wire formats, operations, document. No arithmetic of the trade."""

from __future__ import annotations

import logging
import sys
from collections.abc import Callable, Iterable
from typing import Any

import msgspec
from flask import Flask
from werkzeug.exceptions import HTTPException

from drawmark.web import calculations, catalogue, ops, problems
from drawmark.web.installed import Rules, installed_rules
from drawmark.web.observability import observe
from drawmark.web.settings import Settings

_FAILED = msgspec.json.encode(problems.problem(500, "The service failed; the fault is logged."))
log = logging.getLogger("drawmark")


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
    """
    settings = settings or Settings()
    rules = rules or installed_rules(settings.config)
    app = Flask(__name__, static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = settings.body_limit
    app.url_map.strict_slashes = True
    app.register_blueprint(calculations.blueprint(rules))
    app.register_blueprint(catalogue.blueprint(rules))
    app.register_blueprint(ops.blueprint(rules, settings.revision))
    app.register_error_handler(problems.ProblemError, problems.answer_problem)
    app.register_error_handler(HTTPException, problems.answer_http)
    app.register_error_handler(500, problems.answer_fault)
    observe(app)
    app.wsgi_app = _Outermost(app.wsgi_app)  # type: ignore[method-assign]
    return app


class _Outermost:
    """Catches what nothing else caught, SystemExit too, so that no worker dies of a request."""

    def __init__(self, inner: Callable[..., Iterable[bytes]]) -> None:
        self._inner = inner

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        try:
            return self._inner(environ, start_response)
        except BaseException:
            log.exception("a request failed")
            headers = [
                ("Content-Type", problems.MEDIA_TYPE),
                ("Content-Length", str(len(_FAILED))),
            ]
            start_response("500 Internal Server Error", headers, sys.exc_info())
            return [_FAILED]
