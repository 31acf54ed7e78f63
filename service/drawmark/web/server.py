"""Runs the service under gunicorn; the server's settings live here and nowhere else."""

from __future__ import annotations

import gc
import ipaddress
import os
import socket
from typing import Any

from gunicorn.app.base import BaseApplication

from drawmark.web.observability import write_log
from drawmark.web.reply import send_whole_replies
from drawmark.web.settings import SettingError, Settings


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
    if not is_loopback(host) and not settings.allow_open:
        raise SettingError(
            f"{host} is reachable from other machines: set DRAWMARK_ALLOW_OPEN=1 if that is meant"
        )
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise SettingError(f"cannot listen on {host} port {port}: {error.strerror}") from error


class Server(BaseApplication):  # type: ignore[misc]
    """Gunicorn with the service's settings."""

    def __init__(self, host: str, port: int, settings: Settings) -> None:
        self._host, self._port, self._settings = host, port, settings
        super().__init__()

    def load_config(self) -> None:
        """Set what suits a club's server."""
        chosen: dict[str, Any] = {
            "bind": f"[{self._host}]:{self._port}"
            if ":" in self._host
            else f"{self._host}:{self._port}",
            "worker_class": "gthread",
            "workers": self._settings.workers,
            "threads": self._settings.threads,
            "timeout": self._settings.timeout,
            "graceful_timeout": 20,
            "keepalive": 15,
            "preload_app": True,
            "control_socket_disable": True,
            "accesslog": None,
            "loglevel": "warning",
            "post_fork": _settle,
        }
        if os.path.isdir("/dev/shm"):
            chosen["worker_tmp_dir"] = "/dev/shm"
        for name, value in chosen.items():
            if name in self.cfg.settings:
                self.cfg.set(name, value)

    def load(self) -> Any:
        """Build the application, once, before workers are made."""
        from drawmark.web import create_app

        write_log(self._settings.log_requests)
        return create_app(self._settings)


def _settle(server: Any, worker: Any) -> None:
    gc.freeze()


def serve(host: str, port: int, settings: Settings) -> None:
    """Serve until told to stop."""
    check_address(host, port, settings)
    send_whole_replies()
    Server(host, port, settings).run()
