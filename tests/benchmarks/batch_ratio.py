"""Batches against the JSON floor, in processor time of fresh processes; streams in flat memory.

The floor is what a fast decoder and encoder take for the same bodies without looking at them,
the collector off. Both are the best of five; a batch goes through the whole application.

Run: cd tests && python -m benchmarks.batch_ratio
"""

from __future__ import annotations

import io
import json
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from benchmarks import club

TESTS = Path(__file__).parents[1]
ROUNDS = 5
# So short a time is told by the processor's clock only in ticks.
LEAST_ITEMS = 20_000
PATIENCE = 600
"""Deadline by the clock [s]: what is measured is processor time."""


def processor_time() -> float:
    """Processor seconds of this process, to the nanosecond where the system tells."""
    told = Path("/proc/self/schedstat")
    if told.exists():
        return int(told.read_text(encoding="ascii").split()[0]) / 1e9
    return time.process_time()


def best_of(work: Callable[[], object], items: int) -> float:
    """Microseconds an item in the best of some rounds."""
    repeats = max(1, LEAST_ITEMS // items)
    times = []
    for _ in range(ROUNDS):
        before = processor_time()
        for _ in range(repeats):
            work()
        times.append(processor_time() - before)
    return min(times) / repeats / items * 1e6


CLUB = """
default = "evening"
[rulesets.evening]
title = "An invented club's evening"
plugins = ["clicker-clearance", "club-minimums"]
required = ["clicker-clearance", "club-minimums"]
[rulesets.evening.settings.club-minimums]
minimum_length = "24 in"
margin_beyond_draw = "1.25 in"
greatest_draw_weight = "58 lbf"
least_arrow_mass = "150 gr"
least_grains_per_pound = 5.5
"""


def application(rules: str) -> Any:
    """The service, as its workers have it but for the deadline."""
    import gc

    from drawmark.web import create_app
    from drawmark.web.settings import Settings
    from drawmark.web.wire.installed_rules import core_rules, installed_rules

    with tempfile.NamedTemporaryFile("w", suffix=".toml") as file:
        file.write(CLUB)
        file.flush()
        chosen = core_rules() if rules == "core" else installed_rules(file.name)
    settings = Settings(
        log_requests=False, stream_limit=1 << 40, deadline=PATIENCE, single_deadline=PATIENCE
    )
    app = create_app(settings, chosen)
    gc.freeze()
    return app


def ask(app: Any, file: Any, length: int, kind: str = "application/json") -> Any:
    """The pieces of an answer."""
    environ = {
        "REQUEST_METHOD": "POST",
        "PATH_INFO": "/v1/fit-check/batch",
        "SERVER_NAME": "x",
        "SERVER_PORT": "80",
        "wsgi.url_scheme": "http",
        "wsgi.input": file,
        "CONTENT_TYPE": kind,
        "CONTENT_LENGTH": str(length),
    }
    statuses: list[str] = []
    pieces = app(environ, lambda status, headers, fault=None: statuses.append(status))
    assert statuses == ["200 OK"], statuses
    return pieces


def peak() -> float:
    """Greatest resident memory of this process so far, in MB."""
    told = Path("/proc/self/status")
    if told.exists():
        # What getrusage tells begins with the memory of the process that started this one.
        (line,) = (each for each in told.read_text().splitlines() if each.startswith("VmHWM"))
        return int(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def answer(rules: str, count: int, spare: bool) -> tuple[Any, bytes]:
    app, body = application(rules), club.batch(count, spare=spare)
    return app, b"".join(ask(app, io.BytesIO(body), len(body)))


def measure_batch(rules: str, count: int, spare: bool) -> dict[str, float]:
    """What the service takes."""
    body = club.batch(count, spare=spare)
    app = application(rules)
    before = peak()

    def work() -> int:
        return sum(map(len, ask(app, io.BytesIO(body), len(body))))

    work()
    return {"us": best_of(work, count), "peak": peak(), "more": peak() - before}


def measure_floor(rules: str, count: int, spare: bool) -> dict[str, float]:
    """What JSON alone takes."""
    import gc

    import msgspec

    body = club.batch(count, spare=spare)
    _, answered = answer(rules, count, spare)
    tree = msgspec.json.decode(answered)
    gc.disable()

    def work() -> None:
        msgspec.json.decode(body)
        msgspec.json.encode(tree)

    return {"us": best_of(work, count), "in": len(body) / count, "out": len(answered) / count}


def measure_stream(rules: str, count: int, spare: bool) -> dict[str, float]:
    """What a stream of lines takes, once."""
    app = application(rules)
    with tempfile.TemporaryFile() as file:
        size = 0
        for start in range(0, count, 1000):
            for member in club.members(min(1000, count - start), seed=start, spare=spare):
                size += file.write(json.dumps(member, separators=(",", ":")).encode() + b"\n")
        file.seek(0)
        before = processor_time()
        last = b""
        for piece in ask(app, file, size, "application/x-ndjson"):
            last = piece
        taken = processor_time() - before
    assert json.loads(last.splitlines()[-1])["items"] == count
    return {"us": taken / count * 1e6, "peak": peak()}


MEASURES = {"batch": measure_batch, "floor": measure_floor, "stream": measure_stream}


def fresh(kind: str, rules: str, count: int, spare: bool = False) -> dict[str, float]:
    """Measure in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.batch_ratio", kind, rules, str(count), str(int(spare))],
        cwd=TESTS,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    told: dict[str, float] = json.loads(done.stdout)
    return told


def ratio(rules: str, count: int, spare: bool = False) -> dict[str, float]:
    """A batch against its floor."""
    floor, batch = fresh("floor", rules, count, spare), fresh("batch", rules, count, spare)
    return {**batch, "floor": floor["us"], "ratio": batch["us"] / floor["us"], **_sizes(floor)}


def _sizes(floor: dict[str, float]) -> dict[str, float]:
    return {name: floor[name] for name in ("in", "out")}


def main() -> None:
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    print(f"{'':34}{'us an item':>11}{'floor':>7}{'ratio':>7}{'peak MB':>9}{'in B':>7}{'out B':>7}")
    taken = {}
    for rules, count, spare in (
        ("core", 1_000, False),
        ("plugins", 1_000, False),
        ("core", 10_000, False),
        ("plugins", 10_000, False),
        ("plugins", 1_000, True),
        ("plugins", 10_000, True),
    ):
        told = ratio(rules, count, spare)
        taken[rules, count, spare] = told["us"]
        name = f"{count:,} items, {rules}{', many shapes' if spare else ''}"
        print(
            f"{name:34}{told['us']:11.1f}{told['floor']:7.2f}{told['ratio']:7.2f}"
            f"{told['peak']:9.0f}{told['in']:7.0f}{told['out']:7.0f}"
        )
    growth = taken["plugins", 10_000, False] / taken["plugins", 1_000, False]
    print(f"{'an item of 10,000 over one of 1,000':34}{growth:10.2f}")
    for count in (10_000, 100_000):
        told = fresh("stream", "plugins", count)
        name = f"{count:,} lines, plugins"
        print(f"{name:34}{told['us']:11.1f}{'':14}{told['peak']:9.0f}")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        kind, rules, count, spare = sys.argv[1:]
        print(json.dumps(MEASURES[kind](rules, int(count), spare == "1")))
    else:
        main()
