"""The real service with settings of a test's own, stopped by its own process id."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import requests

from conftest import free_port

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
