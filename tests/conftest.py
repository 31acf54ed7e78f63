"""The real service, started once for all tests that talk to it."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from dataclasses import dataclass

import pytest
import requests


@dataclass(frozen=True)
class Service:
    url: str
    process: int
    log: str


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="session")
def service(tmp_path_factory):
    """The real service on a free loopback port, stopped by its own process id."""
    port = free_port()
    command = [sys.executable, "-m", "drawmark.cli", "serve", "--port", str(port)]
    environment = {**os.environ, "WEB_CONCURRENCY": "2", "DRAWMARK_CONFIG": ""}
    log = tmp_path_factory.mktemp("service") / "log"
    with log.open("wb") as file:
        process = subprocess.Popen(command, env=environment, stderr=file)
    url = f"http://127.0.0.1:{port}"
    try:
        for _ in range(200):
            try:
                requests.get(url + "/healthz", timeout=1).raise_for_status()
                break
            except requests.ConnectionError:
                time.sleep(0.1)
        yield Service(url, process.pid, str(log))
    finally:
        process.terminate()
        process.wait(30)


@pytest.fixture(scope="session")
def live(service):
    return service.url
