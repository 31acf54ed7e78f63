"""A mixed load at a fixed, modest rate, and the service's memory over many requests.

Run: cd tests && python -m benchmarks.load --seconds 10 --requests 40000

It fails if any answer is not the one expected, or if memory keeps growing.
"""

from __future__ import annotations

import argparse
import itertools
import json
import signal
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from pathlib import Path

from drawmark.web.document.examples import EXAMPLES
from servers import Process, service, wait_for

CALLERS = 4
RATE = 60.0
"""Requests a second: some tenth of what two cores bear."""

MOST_GROWTH = 2.0
"""MB that the service may gain over 20,000 requests or more; over fewer less, 100 bytes a request.
Before those sixteen threads fill their pools of memory, which level off at 152 MB after some 15,000
requests: 150.8 MB after 10,000, 151.8 after 20,000 and 151.9 after 40,000."""

TRIES = 3
"""How often memory may grow by more before it counts as a leak."""

BATCH = {"items": [EXAMPLES["fit-check"]] * 50}


@dataclass(frozen=True, kw_only=True)
class Ask:
    """A request, and the status it must get."""

    method: str
    path: str
    body: bytes | None = None
    status: int = 200


def mixture() -> list[Ask]:
    """Fit checks, every example, a batch, what is only read, and faults that are answered."""
    fit = json.dumps(EXAMPLES["fit-check"]).encode()
    asked = [
        Ask(method="POST", path=f"/v1/{path}", body=json.dumps(EXAMPLES[path]).encode())
        for path in EXAMPLES
    ]
    asked.append(Ask(method="POST", path="/v1/fit-check/batch", body=json.dumps(BATCH).encode()))
    for path in ("/healthz", "/readyz", "/metrics", "/v1/rules", "/v1/units", "/openapi.json"):
        asked.append(Ask(method="GET", path=path))
    asked.append(Ask(method="POST", path="/v1/fit-check", body=fit[:-1], status=400))
    asked.append(Ask(method="POST", path="/v1/fit-check", body=b'{"arrow": 1}', status=422))
    asked.append(Ask(method="GET", path="/v1/nowhere", status=404))
    # Every other request is a fit check.
    check = Ask(method="POST", path="/v1/fit-check", body=fit)
    return [each for other in asked for each in (other, check)]


@dataclass
class Callers:
    """Callers that each keep a connection, and what they met."""

    port: int
    due: Callable[[int], float]
    """When a request is to be sent, by its number [s]."""

    numbers: Iterator[int]
    seconds: list[float] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def run(self) -> None:
        """Send all requests, each by the caller that is free first."""
        threads = [threading.Thread(target=self._call) for _ in range(CALLERS)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

    def _call(self) -> None:
        asked = mixture()
        connection = HTTPConnection("127.0.0.1", self.port, timeout=30)
        for number in self.numbers:
            due = self.due(number)
            time.sleep(max(0.0, due - time.perf_counter()))
            fault = self._send(connection, asked[number % len(asked)])
            # From when it was due: waiting behind a slow answer counts.
            self.seconds.append(time.perf_counter() - due)
            if fault:
                self.faults.append(fault)
        connection.close()

    def _send(self, connection: HTTPConnection, ask: Ask) -> str:
        headers = {"Content-Type": "application/json"} if ask.body is not None else {}
        try:
            connection.request(ask.method, ask.path, ask.body, headers)
            answer = connection.getresponse()
            answer.read()
        except (OSError, HTTPException) as fault:
            connection.close()
            return f"{ask.path}: {fault!r}"
        return "" if answer.status == ask.status else f"{ask.path}: {answer.status}"


class Numbers:
    """Numbers for several threads, until there are no more or it is over."""

    def __init__(self, most: int) -> None:
        self._count = itertools.count()
        self._most = most

    def __iter__(self) -> Numbers:
        return self

    def __next__(self) -> int:
        number = next(self._count)
        if number >= self._most:
            raise StopIteration
        return number


def hold_rate(port: int, seconds: float, rate: float = RATE) -> Callers:
    """Send requests at a fixed rate, however long the answers take."""
    start = time.perf_counter() + 0.1
    callers = Callers(port, lambda number: start + number / rate, Numbers(round(seconds * rate)))
    callers.run()
    return callers


def send(port: int, requests: int) -> Callers:
    """Send requests one after another, as fast as they are answered."""
    callers = Callers(port, lambda _: time.perf_counter(), Numbers(requests))
    callers.run()
    return callers


def memory_of(process: Process) -> float:
    """Memory of all processes of the service, what they share counted once [MB]."""
    assert process.running is not None
    total = 0
    for number in (process.running.pid, *process.children):
        for line in Path(f"/proc/{number}/smaps_rollup").read_text().splitlines():
            if line.startswith("Pss:"):
                total += int(line.split()[1])
    return total / 1024


def percentile(values: Sequence[float], share: int) -> float:
    """The value that so many of a hundred do not exceed."""
    return statistics.quantiles(values, n=100, method="inclusive")[share - 1]


@contextmanager
def serving() -> Iterator[Process]:
    """Run the service as it is run for a club, on loopback."""
    with tempfile.TemporaryDirectory() as folder:
        process = service(Path(folder), WEB_CONCURRENCY="2")
        try:
            process.start()
            wait_for(lambda: len(process.children) == 2)
            yield process
        finally:
            process.end(signal.SIGTERM)


def measure(seconds: float, requests: int, watched: int) -> list[str]:
    """Measure, print what was found, and give what is wrong with it; the last are watched."""
    wrong = []
    with serving() as process:
        fresh = memory_of(process)
        held = hold_rate(process.port, seconds)
        p50, p99 = (1000 * percentile(held.seconds, share) for share in (50, 99))
        print(
            f"{len(held.seconds)} requests, {RATE:g} a second for {seconds:g} s: p50 {p50:.1f} ms, "
            f"p99 {p99:.1f} ms, {len(held.faults)} errors",
            flush=True,
        )
        workers = process.children
        first = send(process.port, requests - watched)
        faults = held.faults + first.faults
        most = MOST_GROWTH * min(1.0, watched / 20_000)
        for _ in range(TRIES):
            start = memory_of(process)
            begun = time.perf_counter()
            rest = send(process.port, watched)
            rate = len(rest.seconds) / (time.perf_counter() - begun)
            end = memory_of(process)
            faults += rest.faults
            print(
                f"{requests} requests, {rate:.0f} a second: {len(faults)} errors; memory "
                f"{fresh:.1f} MB at the start, {start:.1f} MB before the last {watched}, "
                f"{end:.1f} MB at the end",
                flush=True,
            )
            # A leak grows every time, while a pool that one more thread fills grows once.
            if end - start <= most:
                break
        else:
            wrong.append(f"memory grew by {end - start:.1f} MB, more than {most:g}")
        if faults:
            wrong.append(f"{len(faults)} errors: {', '.join(sorted(set(faults))[:5])}")
        if process.children != workers:
            wrong.append("a worker died")
    return wrong


def main() -> int:
    """Measure as the command line says."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=10)
    parser.add_argument("--requests", type=int, default=40_000)
    parser.add_argument("--watched", type=int, help="the last so many; half of them if not given")
    options = parser.parse_args()
    watched = options.requests // 2 if options.watched is None else options.watched
    wrong = measure(options.seconds, options.requests, watched)
    for each in wrong:
        print(f"load: {each}", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
