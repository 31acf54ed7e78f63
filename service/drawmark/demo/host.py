"""Starts the real service on a free loopback port and stops it again."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

import requests

_PATIENCE: Final = 60.0


def free_port() -> int:
    """Find a port of this machine that nothing listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def service(config: str | None) -> Iterator[str]:
    """Run the service and give its address; it is stopped by its own process id.

    Raises
    ------
    RuntimeError
        If it does not start.
    """
    port = free_port()
    environment = {name: value for name, value in os.environ.items() if name != "DRAWMARK_CONFIG"}
    if config:
        environment["DRAWMARK_CONFIG"] = config
    command = [sys.executable, "-m", "drawmark.cli", "serve", "--port", str(port)]
    process = subprocess.Popen(command, env=environment)
    address = f"http://127.0.0.1:{port}"
    try:
        _await(address, process)
        yield address
    finally:
        process.terminate()
        process.wait(timeout=30)


def _await(address: str, process: subprocess.Popen[bytes]) -> None:
    end = time.monotonic() + _PATIENCE
    while time.monotonic() < end and process.poll() is None:
        try:
            if requests.get(f"{address}/healthz", timeout=2).ok:
                return
        except requests.ConnectionError:
            time.sleep(0.1)
    raise RuntimeError("the service did not start")
