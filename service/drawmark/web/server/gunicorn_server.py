"""Runs the service under gunicorn; the server's settings live here and nowhere else."""

from __future__ import annotations

import gc
import ipaddress
import logging
import os
import signal
import socket
from functools import partial
from typing import TYPE_CHECKING, Any

from gunicorn.app.base import BaseApplication
from gunicorn.arbiter import Arbiter

from drawmark import __version__
from drawmark.rules.guard import guard
from drawmark.web import metric_files
from drawmark.web.server.atomic_response import send_whole_replies
from drawmark.web.server.request_log import write_log
from drawmark.web.settings import SettingError, Settings

if TYPE_CHECKING:
    from drawmark.web.server.reloadable_app import Standing

log = logging.getLogger("drawmark")


def is_loopback(host: str) -> bool:
    """Tell whether a host is reachable from this machine alone."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def check_address(host: str, port: int, settings: Settings) -> None:
    """Refuse, in one line, an address that cannot or should not be listened on."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise SettingError(f"cannot listen on {host} port {port}: {error.strerror}") from error
        except UnicodeError as error:
            raise SettingError(f"cannot listen on {host}: it is no name of a host") from error
    if not (is_loopback(host) or settings.tokens_file or settings.allow_open):
        raise SettingError(
            f"{host} is reachable from other machines: set DRAWMARK_TOKENS_FILE, "
            "or DRAWMARK_ALLOW_OPEN=1 if anybody who reaches it may ask"
        )


class Server(BaseApplication):  # type: ignore[misc]
    """Gunicorn with the service's settings.

    Parameters
    ----------
    host, port : str, int
        Where to listen.
    settings : Settings
        Settings.
    """

    def __init__(self, host: str, port: int, settings: Settings) -> None:
        self._address = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
        self._settings = settings
        self._standing: Standing | None = None
        super().__init__()

    def load_config(self) -> None:
        """Set what suits a club's server."""
        chosen: dict[str, Any] = {
            "bind": self._address,
            "worker_class": "gthread",
            "workers": self._settings.workers,
            "threads": self._settings.threads,
            "timeout": self._settings.timeout,
            "graceful_timeout": 20,
            "keepalive": 15,
            "preload_app": True,
            "accesslog": None,
            "loglevel": "warning",
            "post_fork": _settle,
            "child_exit": _add_up,
            "when_ready": self._tell,
            "on_reload": self._renew,
        }
        if os.path.isdir("/dev/shm"):
            chosen["worker_tmp_dir"] = "/dev/shm"
        if "control_socket_disable" in self.cfg.settings:
            # Older servers have no such socket.
            chosen["control_socket_disable"] = True
        for name, value in chosen.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        """Build the application, once, before workers are made."""
        from drawmark.rules import registry
        from drawmark.web.server.reloadable_app import Standing

        self._standing = Standing(self._settings, registry.load())
        return self._standing.application

    def _tell(self, server: Any) -> None:
        log.info("drawmark %s listens on http://%s", __version__, self._address)

    def _renew(self, server: Any) -> None:
        assert self._standing is not None
        self._standing.renew()
        self.callable = self._standing.application


def _settle(server: Any, worker: Any) -> None:
    # Where a rule is stuck the worker takes no more requests, and answers those that it has.
    guard.last_words.append(partial(worker.handle_exit, signal.SIGTERM, None))
    gc.freeze()


def _outlive_workers() -> None:
    """Replace every worker that ends.

    Gunicorn halts where a worker leaves with a status that stands for a failed start, and a
    plugin's rule can leave with any. The application is loaded before there are workers.
    """
    Arbiter.WORKER_BOOT_ERROR = Arbiter.APP_LOAD_ERROR = -1


def _add_up(server: Any, worker: Any) -> None:
    directory = os.environ.get(metric_files.VARIABLE)
    if directory is None:
        return
    try:
        metric_files.add_up(directory, worker.pid)
    except Exception:
        # In the first process, where it would end the service: counts are not worth that.
        log.warning("what process %s counted is lost", worker.pid, exc_info=True)


def serve(host: str, port: int, settings: Settings) -> None:
    """Serve until told to stop."""
    check_address(host, port, settings)
    write_log(settings.log_requests)
    send_whole_replies()
    _outlive_workers()
    with metric_files.directory_for_all():
        server = Server(host, port, settings)
        if not is_loopback(host) and not settings.tokens_file:
            log.warning("anybody who reaches %s may ask: no tokens are asked for", host)
        server.run()
