"""The real service with settings of a test's own, stopped by its own process id."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import requests

from conftest import free_port
from drawmark.web.examples import EXAMPLES

SECONDS = 30.0


def wait_for(condition: Callable[[], object], seconds: float = SECONDS) -> None:
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, "not in time"
        time.sleep(0.05)


@dataclass(frozen=True)
class Served:
    url: str
    process: int
    log: Path

    def ready(self) -> dict:
        response = requests.get(self.url + "/readyz", timeout=10)
        assert response.status_code == 200
        return response.json()

    def workers(self) -> set[int]:
        children = Path(f"/proc/{self.process}/task/{self.process}/children")
        return set(map(int, children.read_text(encoding="ascii").split()))

    def hang_up(self) -> None:
        """Have the files read again, and wait until only new workers are left."""
        before = self.workers()
        os.kill(self.process, signal.SIGHUP)
        wait_for(lambda: len(self.workers()) == len(before) and not self.workers() & before)


@contextmanager
def serving(folder: Path, **environment: str) -> Iterator[Served]:
    port = free_port()
    log = folder / "log"
    command = [sys.executable, "-m", "drawmark.cli", "serve", "--port", str(port)]
    others = {name: value for name, value in os.environ.items() if "DRAWMARK" not in name}
    with log.open("wb") as file:
        process = subprocess.Popen(
            command, env={**others, "WEB_CONCURRENCY": "2", **environment}, stderr=file
        )
    served = Served(f"http://127.0.0.1:{port}", process.pid, log)

    def answers() -> bool:
        assert process.poll() is None, log.read_text(encoding="utf-8")
        try:
            return requests.get(served.url + "/healthz", timeout=5).ok
        except requests.ConnectionError:
            return False

    try:
        wait_for(answers)
        yield served
    finally:
        process.terminate()
        process.wait(40)


class HeldRequest:
    """A request of which only half was sent yet."""

    def __init__(self, url):
        at = urlsplit(url)
        body = json.dumps(EXAMPLES["fit-check"]).encode()
        self.rest = body[20:]
        self.connection = socket.create_connection((at.hostname, at.port), timeout=30)
        self.connection.sendall(
            b"POST /v1/fit-check HTTP/1.1\r\nHost: x\r\nConnection: close\r\n"
            b"Content-Type: application/json\r\nContent-Length: %d\r\n\r\n" % len(body) + body[:20]
        )

    def finish(self):
        self.connection.sendall(self.rest)
        received = b""
        while block := self.connection.recv(65536):
            received += block
        self.connection.close()
        return received
