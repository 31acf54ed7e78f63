"""Starts the real service on a free loopback port and stops it again."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

import requests

_START_SECONDS: Final = 60.0
_SETTINGS: Final = ("DRAWMARK_", "WEB_CONCURRENCY")


class ServiceError(RuntimeError):
    """The service did not start."""


def free_port() -> int:
    """Find a loopback port that nothing listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def service(config: str | None) -> Iterator[str]:
    """Run the service with a club's file; yield its address, or raise ServiceError."""
    port = free_port()
    environment = {
        name: value for name, value in os.environ.items() if not name.startswith(_SETTINGS)
    }
    environment["DRAWMARK_LOG_REQUESTS"] = "0"
    if config:
        environment["DRAWMARK_CONFIG"] = config
    command = [sys.executable, "-m", "drawmark.cli", "serve", "--port", str(port)]
    # If the demo is terminated, its service must end too.
    before = signal.signal(signal.SIGTERM, _exit)
    process = subprocess.Popen(command, env=environment)
    try:
        address = f"http://127.0.0.1:{port}"
        _wait_until_ready(address, process)
        yield address
    finally:
        _stop(process)
        signal.signal(signal.SIGTERM, before)


def _wait_until_ready(address: str, process: subprocess.Popen[bytes]) -> None:
    end = time.monotonic() + _START_SECONDS
    with requests.Session() as session:
        session.trust_env = False
        # A connection that is left open would hold the service up when it ends.
        session.headers["Connection"] = "close"
        while time.monotonic() < end:
            if process.poll() is not None:
                raise ServiceError(f"the service ended with status {process.returncode}")
            try:
                if session.get(f"{address}/healthz", timeout=2).ok:
                    return
            except (requests.ConnectionError, requests.Timeout):
                time.sleep(0.1)
    raise ServiceError(f"the service did not answer within {_START_SECONDS:g} s")


def _stop(process: subprocess.Popen[bytes]) -> None:
    process.terminate()
    try:
        process.wait(timeout=30)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def _exit(number: int, frame: Any) -> None:
    sys.exit(128 + number)
