from __future__ import annotations

import os
import socket
import subprocess
import sys
import time

import pytest
import requests

from drawmark.web import create_app
from drawmark.web.installed import core_rules


@pytest.fixture(scope="session")
def app():
    return create_app(rules=core_rules())


@pytest.fixture
def client(app):
    return app.test_client()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="session")
def live():
    """The real service on a free loopback port, stopped by its own process id."""
    port = free_port()
    command = [sys.executable, "-m", "drawmark.cli", "serve", "--port", str(port)]
    environment = {**os.environ, "WEB_CONCURRENCY": "2"}
    process = subprocess.Popen(command, env=environment)
    url = f"http://127.0.0.1:{port}"
    try:
        for _ in range(200):
            try:
                requests.get(url + "/healthz", timeout=1).raise_for_status()
                break
            except requests.ConnectionError:
                time.sleep(0.1)
        yield url
    finally:
        process.terminate()
        process.wait(30)
