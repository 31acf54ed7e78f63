"""Debian's nginx, with the settings of the compose file, before services on loopback."""

import os
import shutil
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from faults.slow import SlowRule
from servers import FIT_CHECK, Load, Process, free_port, service

SETTINGS = Path(__file__).parents[2] / "docker" / "nginx"


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


def place(ports: tuple[int, ...], profile: str) -> str:
    """Give the servers of a profile, as many as there are ports, at those ports."""
    servers = (SETTINGS / "upstream" / f"{profile}.conf").read_text()
    for number, port in enumerate(ports, start=1):
        servers = servers.replace(f"drawmark-{number}:8000", f"127.0.0.1:{port}")
    return "\n".join(line for line in servers.splitlines() if "drawmark-" not in line)


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


@pytest.fixture
def front(tmp_path: Path) -> Iterator[Front]:
    """Give a function that starts nginx before some ports, with some settings replaced."""
    found = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")
    if found is None:
        assert not os.environ.get("TESTS_NEED_NGINX"), "nginx is not installed here"
        pytest.skip("nginx is not installed here")
    started: list[Process] = []

    def start(
        *ports: int,
        profile: str = "replicas",
        scheme: str = "http",
        addresses: int = 0,
        **replaced: str,
    ) -> Process:
        port = free_port()
        settings = (SETTINGS / "nginx.conf").read_text()
        listen = (SETTINGS / "listen" / f"{scheme}.conf").read_text()
        (tmp_path / "listen.conf").write_text(listen.replace("8080", f"127.0.0.1:{port}"))
        shutil.copy(SETTINGS / "addresses" / f"{addresses}.conf", tmp_path / "addresses.conf")
        changes = {}
        for name, value in replaced.items():
            line = next(line for line in settings.splitlines() if line.strip().startswith(name))
            changes[line] = f"{name} {value};"
        for old, new in changes.items():
            assert old in settings
            settings = settings.replace(old, new)
        if os.geteuid() == 0:
            settings = f"user root;\n{settings}"
        (tmp_path / "nginx.conf").write_text(settings)
        (tmp_path / "upstream.conf").write_text(place(ports, profile))
        place_of = ["-p", tmp_path, "-c", tmp_path / "nginx.conf"]
        command: list[str | Path] = [found, "-e", "/dev/stderr", *place_of]
        process = Process(command, port, tmp_path / "nginx.log")
        started.append(process)
        process.start()
        return process

    try:
        yield start
    finally:
        for process in started:
            process.end(signal.SIGTERM)
