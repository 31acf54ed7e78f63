"""One fit check against a constant view with the same hooks, in processor time of the worker.

The worker stays on one core and its clients on another, so that neither takes the other's
caches; the clients keep their connections and ask together, so that the worker does not sleep
between two requests. Run it on a machine that does nothing else:

    cd tests && python -m benchmarks.http_ratio
"""

from __future__ import annotations

import json
import os
import platform
import resource
import socket
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from drawmark.fitting.mechanics.beam import frequencies
from drawmark.fitting.model import Arrow, Point, Shaft
from drawmark.web.document.examples import EXAMPLES

ROUNDS = 7
REQUESTS = 400
TURNS = 10
CLIENTS = 4
PATHS = ("/v1/fit-check", "/constant", "/bare", "/nested", "/two-plugins")
APPLICATION = """
import json, sys
from flask import Flask, Response, request
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.operations import operations_of
from drawmark.web.wire.installed_rules import core_rules, installed_rules
from drawmark.web.server.request_log import configure_logging
from drawmark.web.server.gunicorn_server import GunicornServer
from drawmark.web.settings import Settings
from benchmarks.plugin_cost import two_plugins

class Measured(GunicornServer):
    def load(self):
        configure_logging(True)
        rules = core_rules() if sys.argv[2] == "core" else installed_rules()
        app = create_app(Settings(), rules)
        sample = create_app(Settings(), rules)
        body = sample.test_client().post("/v1/fit-check", json=EXAMPLES["fit-check"]).data
        def constant():
            request.get_data(cache=False)
            return Response(body, mimetype="application/json")
        operation = [one for one in operations_of(rules) if one.path == "fit-check"][0]
        def nested():
            body = request.get_data(cache=False)
            operation.schema().load(json.loads(body))
            tree = operation.calculate(body)
            answer = json.dumps(tree, default=lambda raw: json.loads(bytes(raw)))
            return Response(answer, mimetype="application/json")
        app.add_url_rule("/nested", "nested", nested, methods=["POST"])
        app.add_url_rule("/constant", "constant", constant, methods=["POST"])
        bare = Flask("bare")
        bare.add_url_rule("/bare", "bare", constant, methods=["POST"])
        local = create_app(Settings(), two_plugins(outspoken=False))
        def all_of_them(environ, start_response):
            if environ["PATH_INFO"] == "/bare":
                return bare(environ, start_response)
            if environ["PATH_INFO"] == "/two-plugins":
                environ["PATH_INFO"] = "/v1/fit-check"
                return local(environ, start_response)
            return app(environ, start_response)
        return all_of_them

Measured("127.0.0.1", int(sys.argv[1]), Settings(workers=1), create_app).run()
"""


def worker_of(parent: int) -> int:
    """The parent's only child."""
    children = Path(f"/proc/{parent}/task/{parent}/children").read_text(encoding="ascii")
    return int(children.split()[0])


def resident_of(process: int) -> float:
    """Resident memory of a process in MB."""
    lines = Path(f"/proc/{process}/status").read_text(encoding="ascii").splitlines()
    (line,) = (line for line in lines if line.startswith("VmRSS"))
    return int(line.split()[1]) / 1024


def start_up() -> dict[str, float]:
    """Seconds to import and build the application in a fresh process, by clock and processor."""
    code = "from drawmark.web import create_app; create_app()"
    began, spent = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, "-c", code], check=True)
    ended, now = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    return {
        "import and start-up, s": ended - began,
        "import and start-up, processor s": sum(now[:2]) - sum(spent[:2]),
    }


def bending() -> dict[str, float]:
    """Milliseconds of the frequency of one arrow, and of those of 20 cuts in one solve."""
    tube = Shaft(static_spine=5.0, mass_per_length=0.01)
    arrows = [
        Arrow(length=0.8 - 0.005 * cut, shaft=tube, point=Point(mass=0.007)) for cut in range(20)
    ]

    def least(of: Sequence[Arrow], calls: int = 50) -> float:
        frequencies(of)
        spent = []
        for _ in range(ROUNDS):
            before = time.process_time()
            for _ in range(calls):
                frequencies(of)
            spent.append((time.process_time() - before) / calls * 1e3)
        return statistics.median(spent)

    return {"one frequency, ms": least(arrows[:1]), "20 frequencies, ms": least(arrows)}


def processor_time(process: int) -> float:
    """Processor seconds of a process, of threads that have ended too."""
    # What clock_getcpuclockid(3) makes of a process on Linux; Python does not offer it.
    return time.clock_gettime((~process << 3) | 2)


class Caller:
    """A client that keeps its connection and does little else, to leave the caches alone."""

    def __init__(self, port: int) -> None:
        self.connection = socket.create_connection(("127.0.0.1", port), timeout=10)
        self.body = json.dumps(EXAMPLES["fit-check"]).encode()

    def send(self, path: str) -> None:
        head = (
            f"POST {path} HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
            f"Content-Length: {len(self.body)}\r\n\r\n"
        )
        self.connection.sendall(head.encode() + self.body)

    def receive(self) -> None:
        received = b""
        while b"\r\n\r\n" not in received:
            received += self.connection.recv(65536)
        head, _, rest = received.partition(b"\r\n\r\n")
        assert head.startswith(b"HTTP/1.1 200 ")
        (length,) = (
            line.split(b":")[1] for line in head.split(b"\r\n") if line[:15] == b"Content-Length:"
        )
        missing = int(length) - len(rest)
        while missing > 0:
            missing -= len(self.connection.recv(65536))


def ask(callers: Sequence[Caller], path: str) -> None:
    """Have each caller ask once, all together."""
    for caller in callers:
        caller.send(path)
    for caller in callers:
        caller.receive()


@contextmanager
def apart(worker: int) -> Iterator[None]:
    """Keep a worker on one core and this process on another, where there are two."""
    ours = os.sched_getaffinity(0)
    if len(ours) > 1:
        one, other = sorted(ours)[:2]
        os.sched_setaffinity(0, {one})
        for thread in Path(f"/proc/{worker}/task").iterdir():
            os.sched_setaffinity(int(thread.name), {other})
    try:
        yield
    finally:
        os.sched_setaffinity(0, ours)


@contextmanager
def application(rules: str) -> Iterator[tuple[list[Caller], int]]:
    """The service with the views to compare with, one worker; its callers and the worker."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    process = subprocess.Popen(
        [sys.executable, "-c", APPLICATION, str(port), rules],
        cwd=Path(__file__).parents[1],
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        stderr=subprocess.DEVNULL,
    )
    try:
        for _ in range(200):
            try:
                callers = [Caller(port)]
                break
            except ConnectionRefusedError:
                time.sleep(0.1)
        callers += [Caller(port) for _ in range(CLIENTS - 1)]
        ask(callers, PATHS[0])
        yield callers, worker_of(process.pid)
        for caller in callers:
            caller.connection.close()
    finally:
        process.terminate()
        process.wait(30)


def measure(rules: str, rounds: int = ROUNDS, requests: int = REQUESTS) -> dict[str, float]:
    """Compare processor times a request of the worker; medians of interleaved rounds."""
    spent: dict[str, list[float]] = {path: [] for path in PATHS}
    each = requests // (CLIENTS * TURNS)
    with application(rules) as (callers, worker), apart(worker):
        for number in range(rounds + 1):
            # Short turns, so that what else the machine does falls on all alike.
            taken = dict.fromkeys(PATHS, 0.0)
            for path in PATHS * TURNS:
                before = processor_time(worker)
                for _ in range(each):
                    ask(callers, path)
                taken[path] += processor_time(worker) - before
            if number:
                for path, times in spent.items():
                    times.append(taken[path] / (each * CLIENTS * TURNS) * 1e6)
        resident = resident_of(worker)

    def ratio(path: str) -> float:
        pairs = zip(spent[path], spent["/v1/fit-check"], strict=True)
        return statistics.median(other / ours for other, ours in pairs)

    return {
        "fit check, us": statistics.median(spent["/v1/fit-check"]),
        "constant view, us": statistics.median(spent["/constant"]),
        "rate of the constant view reached": ratio("/constant"),
        "rate of a bare view reached": ratio("/bare"),
        "rate of nested load and dump reached": ratio("/nested"),
        "two plugins of three rules over ours": ratio("/two-plugins"),
        "worker resident, MB": resident,
    }


if __name__ == "__main__":
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    for name, figure in (start_up() | bending()).items():
        print(f"{name:38} {figure:8.2f}")
    for rules in ("core", "all plugins"):
        print(rules)
        for name, figure in measure(rules).items():
            print(f"  {name:36} {figure:8.2f}")
