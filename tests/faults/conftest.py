"""The real service, started by a test with settings and plugins of its own."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from servers import Process, service


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Callable[..., Process]]:
    """Give a function that starts a service with some settings."""
    started: list[Process] = []

    def start(log: Path | None = None, **environment: str) -> Process:
        process = service(tmp_path, **environment)
        process.log = log or process.log
        started.append(process)
        process.start()
        return process

    try:
        yield start
    finally:
        for process in started:
            process.end()
