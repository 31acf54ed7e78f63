"""nginx before services on loopback."""

import os
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from faults.slow import SlowRule
from nginx import find_nginx, nginx
from servers import FIT_CHECK, Load, Process, free_port, service


@pytest.fixture
def replicas(tmp_path: Path) -> Iterator[list[Process]]:
    started = []
    try:
        for name in ("one", "two"):
            process = service(tmp_path, name, WEB_CONCURRENCY="1")
            started.append(process)
            process.start()
        yield started
    finally:
        for process in started:
            process.end()


@pytest.fixture
def slow_service(tmp_path: Path) -> Iterator[tuple[Process, SlowRule]]:
    """Give a service in which a batch takes its time."""
    rule = SlowRule(tmp_path)
    process = service(tmp_path, WEB_CONCURRENCY="2", **rule.environment)
    try:
        process.start()
        yield process, rule
    finally:
        process.end()


@pytest.fixture
def load() -> type[Load]:
    return Load


@pytest.fixture
def body() -> bytes:
    return FIT_CHECK


@pytest.fixture
def unused_port() -> int:
    return free_port()


Front = Callable[..., Process]


@pytest.fixture(scope="session")
def needs_nginx() -> None:
    if find_nginx() is None:
        assert not os.environ.get("TESTS_NEED_NGINX"), "nginx is not installed here"
        pytest.skip("nginx is not installed here")


@pytest.fixture
def front(tmp_path: Path, needs_nginx: None) -> Iterator[Front]:
    """Give a function that starts nginx before some ports, with some settings replaced."""
    started: list[Process] = []

    def start(*ports: int, **settings: Any) -> Process:
        process = nginx(tmp_path, ports, **settings)
        started.append(process)
        process.start()
        return process

    try:
        yield start
    finally:
        for process in started:
            process.end(signal.SIGTERM)
