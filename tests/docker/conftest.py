"""Debian's nginx, with the settings of the compose file, before services on loopback."""

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import IO

import pytest

SETTINGS = Path(__file__).parents[2] / "docker" / "nginx"
FIT_CHECK = json.dumps(
    {
        "archer": {
            "draw_length": {"value": 27, "unit": "in"},
            "draw_length_convention": "standard",
        },
        "bow": {"kind": "recurve"},
        "arrow": {"length": {"value": 24, "unit": "in"}},
    }
).encode()


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port: int = probe.getsockname()[1]
    return port


def wait_for(condition: Callable[[], bool], seconds: float = 20) -> None:
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, "not in time"
        time.sleep(0.05)


def ask(port: int) -> int:
    caller = HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        caller.request("POST", "/v1/fit-check", FIT_CHECK, {"Content-Type": "application/json"})
        answer = caller.getresponse()
        answer.read()
        return answer.status
    finally:
        caller.close()


@dataclass
class Process:
    """A server that is started and ended by its own process group."""

    command: list[str | Path]
    port: int
    log: Path
    environment: dict[str, str] = field(default_factory=dict)
    running: subprocess.Popen[bytes] | None = None
    output: IO[bytes] | None = None

    def start(self) -> None:
        self.output = self.log.open("ab")
        self.running = subprocess.Popen(
            self.command,
            stdout=self.output,
            stderr=subprocess.STDOUT,
            env=os.environ | self.environment,
            start_new_session=True,
        )
        wait_for(self.accepts)

    def accepts(self) -> bool:
        assert self.running is not None
        assert self.running.poll() is None, self.log.read_text()
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0

    def end(self, number: signal.Signals = signal.SIGKILL) -> None:
        if self.running is not None:
            os.killpg(self.running.pid, number)
            self.running.wait(20)
            self.running = None
        if self.output is not None:
            self.output.close()
            self.output = None


@dataclass
class Load:
    """Callers that ask on, each request on a connection of its own."""

    port: int
    answered: int = 0
    failed: list[str] = field(default_factory=list)
    over: threading.Event = field(default_factory=threading.Event)
    threads: list[threading.Thread] = field(default_factory=list)

    def __enter__(self) -> "Load":
        self.threads = [threading.Thread(target=self.repeat) for _ in range(4)]
        for thread in self.threads:
            thread.start()
        return self

    def repeat(self) -> None:
        while not self.over.is_set():
            try:
                status = ask(self.port)
            except (OSError, HTTPException) as fault:
                self.failed.append(repr(fault))
                continue
            if status == 200:
                self.answered += 1
            else:
                self.failed.append(str(status))

    def __exit__(self, *_: object) -> None:
        self.over.set()
        for thread in self.threads:
            thread.join(30)


@pytest.fixture
def replicas(tmp_path: Path) -> Iterator[list[Process]]:
    command = Path(sys.executable).parent / "drawmark"
    started = []
    try:
        for name in ("one", "two"):
            port = free_port()
            serve: list[str | Path] = [command, "serve", "--host", "127.0.0.1", "--port", str(port)]
            log = tmp_path / f"{name}.log"
            process = Process(serve, port, log, {"WEB_CONCURRENCY": "1"})
            started.append(process)
            process.start()
        yield started
    finally:
        for process in started:
            process.end()


def place(ports: tuple[int, ...]) -> str:
    """Give the servers of the replicas' profile, as many as there are ports, at those ports."""
    servers = (SETTINGS / "upstream" / "replicas.conf").read_text()
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
        pytest.skip("nginx is not installed here")
    started: list[Process] = []

    def start(*ports: int, **replaced: str) -> Process:
        port = free_port()
        settings = (SETTINGS / "nginx.conf").read_text()
        changes = {"listen 8080;": f"listen 127.0.0.1:{port};", "/tmp/nginx": f"{tmp_path}/nginx"}
        for name, value in replaced.items():
            line = next(line for line in settings.splitlines() if line.strip().startswith(name))
            changes[line] = f"{name} {value};"
        for old, new in changes.items():
            assert old in settings
            settings = settings.replace(old, new)
        if os.geteuid() == 0:
            settings = f"user root;\n{settings}"
        (tmp_path / "nginx.conf").write_text(settings)
        (tmp_path / "upstream.conf").write_text(place(ports))
        command: list[str | Path] = [found, "-e", "/dev/stderr", "-c", tmp_path / "nginx.conf"]
        process = Process(command, port, tmp_path / "nginx.log")
        started.append(process)
        process.start()
        return process

    try:
        yield start
    finally:
        for process in started:
            process.end(signal.SIGTERM)
