"""Runs the service under gunicorn, with all of the server's settings."""

from __future__ import annotations

import gc
import ipaddress
import logging
import signal
import socket
import sys
from functools import partial
from importlib import import_module
from typing import Any, Final

from gunicorn.app.base import BaseApplication
from gunicorn.arbiter import Arbiter
from gunicorn.glogging import Logger

from drawmark import __version__
from drawmark.rules import registry
from drawmark.rules.guard import guard
from drawmark.web.metrics import metrics_of_process
from drawmark.web.server.atomic_response import use_atomic_responses
from drawmark.web.server.early_signals import hold_signals, take_signals, use_early_signals
from drawmark.web.server.heartbeat import use_memory_heartbeats
from drawmark.web.server.json_log import JsonFormatter
from drawmark.web.server.protocol_errors import use_problems
from drawmark.web.server.reloadable_app import AppFactory, ReloadableApp
from drawmark.web.server.request_log import configure_logging
from drawmark.web.server.stalled_callers import limit_moments, use_patience
from drawmark.web.settings import SettingError, Settings

log = logging.getLogger("drawmark")
SWITCH_INTERVAL: Final = 0.001
"""How long a thread calculates while others wait [s]; see `tests/benchmarks/fairness.py`."""
COLLECT_AFTER: Final = (5000, 20, 20)
"""New objects, and younger collections, after which garbage is collected; all threads pause."""
SLOTS_FOR_EACH: Final = 8
"""Processes that may live beside each other for each worker, while old ones end after reloads."""
TIME_TO_SEND: Final = 10
"""What a worker that is told to end has beyond the deadline of its requests [s]."""


def is_loopback(host: str) -> bool:
    """Tell whether a host can be reached from this machine only."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def check_address(host: str, port: int, settings: Settings) -> None:
    """Refuse an address that cannot be listened on, or that is open to all by mistake."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise SettingError(f"cannot listen on {host} port {port}: {error.strerror}") from error
        except UnicodeError as error:
            raise SettingError(f"cannot listen on {host}: this is not a host name") from error
    reached = _host_of(settings.published) if settings.published else host
    if not (is_loopback(reached) or settings.tokens_file or settings.allow_open):
        raise SettingError(
            f"other machines can reach {reached or 'this one'}: set DRAWMARK_TOKENS_FILE to ask "
            "for tokens, or DRAWMARK_ALLOW_OPEN=1 to let anyone ask"
        )
    if not (is_loopback(host) or settings.trusted_proxies):
        raise SettingError(
            f"other machines can reach {host}, and slow callers can stop the service: "
            "put a proxy in front that reads whole requests, and set DRAWMARK_TRUSTED_PROXIES=1"
        )


def _host_of(published: str) -> str:
    """Give the host of HOST:PORT; nothing where only a port is given, which is every address."""
    return published.rpartition(":")[0].strip("[]")


class ServerLog(Logger):  # type: ignore[misc]
    """The server's own lines, in the form of all others."""

    def setup(self, cfg: Any) -> None:
        """Set the log up, again after each reload."""
        super().setup(cfg)
        for handler in self.error_log.handlers:
            handler.setFormatter(JsonFormatter())


class GunicornServer(BaseApplication):  # type: ignore[misc]
    """Gunicorn with the service's settings."""

    def __init__(self, host: str, port: int, settings: Settings, create_app: AppFactory) -> None:
        self._address = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
        self._settings = settings
        self._create_app = create_app
        self._app: ReloadableApp | None = None
        use_early_signals()
        super().__init__()

    def load_config(self) -> None:
        """Set what suits a club's server."""
        chosen: dict[str, Any] = {
            "bind": self._address,
            "worker_class": "gthread",
            "workers": self._settings.workers,
            "threads": self._settings.threads,
            "timeout": self._settings.timeout,
            "graceful_timeout": self._settings.deadline + TIME_TO_SEND,
            "keepalive": 15,
            "preload_app": True,
            "accesslog": None,
            "logger_class": ServerLog,
            # By default callers on this machine may set a request's path and scheme by headers.
            "forwarded_allow_ips": "",
            "forwarder_headers": "",
            "loglevel": "warning",
            "pre_fork": _before_fork,
            "post_fork": _after_fork,
            "post_worker_init": _before_work,
            "child_exit": _after_exit,
            "when_ready": self._when_ready,
            "on_reload": self._on_reload,
        }
        if "control_socket_disable" in self.cfg.settings:
            # Older versions have no such socket.
            chosen["control_socket_disable"] = True
        for name, value in chosen.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        """Build the application once, before there are workers."""
        # Else each worker would load it for its first assignment, into memory of its own.
        import_module("scipy.optimize")
        self._app = ReloadableApp(self._create_app, self._settings, registry.load())
        return self._app.application

    def _when_ready(self, server: Any) -> None:
        for listener in server.LISTENERS:
            limit_moments(listener.sock)
        log.info("drawmark %s listens on http://%s", __version__, self._address)

    def _on_reload(self, server: Any) -> None:
        assert self._app is not None
        self._app.reload()
        self.callable = self._app.application


def _before_fork(server: Any, worker: Any) -> None:
    hold_signals()
    worker.slot = metrics_of_process().before_fork()
    if worker.slot is None:
        log.warning("what the next worker counts is lost: too many workers live")


def _after_fork(server: Any, worker: Any) -> None:
    metrics_of_process().after_fork(worker.slot)
    # If a rule is stuck, the worker takes no more requests and finishes those that it has.
    guard.exit_callbacks.append(partial(worker.handle_exit, signal.SIGTERM, None))
    gc.freeze()
    gc.set_threshold(*COLLECT_AFTER)
    sys.setswitchinterval(SWITCH_INTERVAL)


def _before_work(worker: Any) -> None:
    take_signals()


def _after_exit(server: Any, worker: Any) -> None:
    # Whoever is told to end has a successor already, or the whole service ends.
    lost = len(server.WORKERS) < server.num_workers
    metrics_of_process().after_exit(worker.slot, lost)


def _replace_every_worker() -> None:
    """Keep gunicorn running whatever status a worker ends with.

    Two statuses stand for a failed start, and gunicorn then halts. A plugin's rule can leave with
    any status, and here the application is loaded before there are workers.
    """
    Arbiter.WORKER_BOOT_ERROR = Arbiter.APP_LOAD_ERROR = -1


def serve(host: str, port: int, settings: Settings, create_app: AppFactory) -> None:
    """Serve until told to stop."""
    check_address(host, port, settings)
    configure_logging(settings.log_requests)
    use_atomic_responses()
    use_patience(settings.threads)
    use_memory_heartbeats()
    use_problems()
    _replace_every_worker()
    metrics_of_process().share(SLOTS_FOR_EACH * settings.workers)
    server = GunicornServer(host, port, settings, create_app)
    if settings.allow_open and not settings.tokens_file and not is_loopback(host):
        log.warning("anyone who reaches %s may ask: no tokens are needed", host)
    server.run()
