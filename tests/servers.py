"""Servers under test: started on a free port of loopback, ended by their own process group."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import IO

import pytest

from builders.wire import archer, q

FIT_CHECK = json.dumps(
    {"archer": archer(27), "bow": {"kind": "recurve"}, "arrow": {"length": q(24)}}
).encode()
needs_proc = pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="looks into /proc")


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port: int = probe.getsockname()[1]
    return port


def wait_for(condition: Callable[[], object], seconds: float = 30) -> None:
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, "not in time"
        time.sleep(0.05)


def ask(
    port: int, path: str = "/v1/fit-check", body: bytes | None = FIT_CHECK
) -> tuple[int, bytes]:
    """Ask once, on a connection of its own; without a body by GET."""
    caller = HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        headers = {"Content-Type": "application/json"} if body is not None else {}
        caller.request("GET" if body is None else "POST", path, body, headers)
        answer = caller.getresponse()
        return answer.status, answer.read()
    finally:
        caller.close()


@dataclass
class Process:
    """A server, its port and the file that it writes its log to."""

    command: list[str | Path]
    port: int
    log: Path
    environment: Mapping[str, str] = field(default_factory=dict)
    workers: int = 0
    running: subprocess.Popen[bytes] | None = None
    output: IO[bytes] | None = None

    def start(self) -> None:
        self.output = self.log.open("ab")
        # Neither settings of whoever runs the tests, nor what the tests set for themselves.
        others = {
            name: value
            for name, value in os.environ.items()
            if "DRAWMARK" not in name and "_NUM_THREADS" not in name
        }
        self.running = subprocess.Popen(
            self.command,
            stdout=self.output,
            stderr=subprocess.STDOUT,
            env={**others, **self.environment},
            start_new_session=True,
        )
        # It listens before it starts its workers.
        wait_for(lambda: self.accepts() and len(self.children) >= self.workers)

    def accepts(self) -> bool:
        assert self.running is not None
        assert self.running.poll() is None, self.written()
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0

    def written(self) -> str:
        """What it wrote to its log; nothing where that is a device."""
        return self.log.read_text() if self.log.is_file() else ""

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def first(self) -> int:
        """The process that was started."""
        assert self.running is not None
        return self.running.pid

    @property
    def children(self) -> set[int]:
        """Its child processes, the workers of a service."""
        first = self.first
        return set(map(int, Path(f"/proc/{first}/task/{first}/children").read_text().split()))

    def send(self, number: signal.Signals) -> None:
        """Send a signal to the first process alone."""
        assert self.running is not None
        self.running.send_signal(number)

    def stop(self) -> int:
        """Ask the first process to end, wait for it, and give the exit status."""
        assert self.running is not None
        self.send(signal.SIGTERM)
        self.running.wait(40)
        return self.end()

    def end(self, number: signal.Signals = signal.SIGKILL) -> int:
        """End the whole group, and give the exit status."""
        status = 0
        if self.running is not None:
            with suppress(ProcessLookupError):
                os.killpg(self.running.pid, number)
            status = self.running.wait(40)
            self.running = None
        if self.output is not None:
            self.output.close()
            self.output = None
        return status


def install(folder: Path, name: str, source: str) -> dict[str, str]:
    """Install a plugin into a folder, and give the environment in which it is found."""
    module = name.replace("-", "_")
    (folder / f"{module}.py").write_text(source)
    about = folder / f"{module}-1.0.dist-info"
    about.mkdir()
    (about / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.0\n")
    (about / "entry_points.txt").write_text(f"[drawmark.rules.v1]\n{name} = {module}\n")
    return {"PYTHONPATH": str(folder)}


@contextmanager
def running(process: Process) -> Iterator[Process]:
    """Start a server, and stop it at the end."""
    try:
        process.start()
        yield process
    finally:
        if process.running is not None:
            process.stop()


def service(folder: Path, name: str = "service", **environment: str) -> Process:
    """Give the real service, not yet started, that writes to a folder and nowhere else."""
    port = free_port()
    program = Path(sys.executable).parent / "drawmark"
    command: list[str | Path] = [program, "serve", "--host", "127.0.0.1", "--port", str(port)]
    workers = int(environment.get("WEB_CONCURRENCY", "2"))
    return Process(command, port, folder / f"{name}.log", environment, workers)


@dataclass
class Load:
    """Callers that ask on, each request on a connection of its own."""

    port: int
    request: Callable[[int], tuple[int, bytes]] = ask
    answered: int = 0
    failed: list[str] = field(default_factory=list)
    over: threading.Event = field(default_factory=threading.Event)
    threads: list[threading.Thread] = field(default_factory=list)

    def __enter__(self) -> Load:
        self.threads = [threading.Thread(target=self.repeat) for _ in range(4)]
        for thread in self.threads:
            thread.start()
        return self

    def repeat(self) -> None:
        while not self.over.is_set():
            try:
                status, _ = self.request(self.port)
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
