"""What other callers feel while some send the longest requests without pause.

Run: cd tests && python -m benchmarks.fairness --seconds 5 [NAME ...]

It prints median and 99th percentile of single checks: alone, beside callers that sent half a
request, and beside each heavy operation with its longest body. The aim is at most five times the
99th percentile alone. It fails if a single check gets no answer. Other work on the machine counts
in all figures.
"""

from __future__ import annotations

import argparse
import socket
import statistics
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException

from benchmarks.full_bodies import MAKERS, TRAITS
from benchmarks.load import percentile, serving
from benchmarks.worst_bodies import body_of
from drawmark.web.server.gateway import HEAVY
from servers import FIT_CHECK

CROWD = 8
"""Callers that send heavy requests without pause."""
SILENT = 16
"""Callers that send half a request: as many as there are threads."""
RATE = 40.0
"""Single checks a second."""
PATIENCE = 20.0
"""How long a caller waits for an answer [s]."""


@dataclass
class Felt:
    """How long single checks took, and which got no answer."""

    seconds: list[float] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def told(self) -> str:
        """Median and 99th percentile."""
        median = 1000 * statistics.median(self.seconds)
        return f"{median:6.1f} ms {1000 * percentile(self.seconds, 99):7.1f} ms"


class Crowd:
    """Callers that send the same request again and again, each on a connection of its own."""

    def __init__(self, port: int, path: str, body: bytes) -> None:
        self.statuses: Counter[str] = Counter()
        self._over = threading.Event()
        self._ask = port, path, body
        self._threads = [threading.Thread(target=self._repeat) for _ in range(CROWD)]

    def __enter__(self) -> Crowd:
        for thread in self._threads:
            thread.start()
        return self

    def _repeat(self) -> None:
        while not self._over.is_set():
            status = send(*self._ask)[0]
            self.statuses[status] += 1
            # As polite as Retry-After asks for, or eight refusals a millisecond are the load.
            if status == "503":
                self._over.wait(1)

    def __exit__(self, *_: object) -> None:
        self._over.set()
        for thread in self._threads:
            thread.join(PATIENCE)


@contextmanager
def silent(port: int) -> Iterator[None]:
    """Keep connections that have sent half a request."""
    with ExitStack() as held:
        for _ in range(SILENT):
            one = held.enter_context(socket.create_connection(("127.0.0.1", port), PATIENCE))
            one.sendall(b"POST /v1/fit-check HTTP/1.1\r\nContent-Length: 9\r\n")
        yield


def send(port: int, path: str, body: bytes) -> tuple[str, float]:
    """Ask once: the status, or the fault, and the time it took."""
    start = time.perf_counter()
    caller = HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    try:
        caller.request("POST", path, body, {"Content-Type": "application/json"})
        answer = caller.getresponse()
        answer.read()
        return str(answer.status), time.perf_counter() - start
    except (OSError, HTTPException) as fault:
        return repr(fault), time.perf_counter() - start
    finally:
        caller.close()


def feel(port: int, seconds: float) -> Felt:
    """Send single checks at a fixed rate, and tell how long each took."""
    felt, begun = Felt(), time.perf_counter()

    def ask() -> None:
        status, taken = send(port, "/v1/fit-check", FIT_CHECK)
        felt.seconds.append(taken)
        if status != "200":
            felt.faults.append(status)

    threads = []
    for number in range(round(seconds * RATE)):
        time.sleep(max(0.0, begun + number / RATE - time.perf_counter()))
        threads.append(threading.Thread(target=ask))
        threads[-1].start()
    for thread in threads:
        thread.join()
    return felt


def measure(names: list[str], seconds: float) -> list[str]:
    """Measure, print what was found, and give what is wrong with it."""
    wrong = []
    with serving() as process:
        feel(process.port, 1.0)
        alone = feel(process.port, seconds)
        limit = percentile(alone.seconds, 99)
        print(f"{'alone':24} {alone.told()}", flush=True)
        with silent(process.port):
            time.sleep(0.5)
            felt = feel(process.port, seconds)
        times = percentile(felt.seconds, 99) / limit
        print(f"{'half-sent requests':24} {felt.told()} {times:5.1f} times", flush=True)
        wrong += [f"half-sent requests: {fault}" for fault in sorted(set(felt.faults))]
        for name in names:
            path = f"/v1/{MAKERS[name][0]}"
            body = body_of(name, {trait: choices[0] for trait, choices in TRAITS.items()})
            with Crowd(process.port, path, body) as crowd:
                time.sleep(0.5)
                felt = feel(process.port, seconds)
            times = percentile(felt.seconds, 99) / limit
            statuses = ", ".join(f"{status}: {n}" for status, n in sorted(crowd.statuses.items()))
            print(f"{name:24} {felt.told()} {times:5.1f} times; {statuses}", flush=True)
            wrong += [f"{name}: {fault}" for fault in sorted(set(felt.faults))]
    return wrong


def main() -> int:
    """Measure as the command line says."""
    heavy = [name for name, (path, *_) in MAKERS.items() if f"/v1/{path}" in HEAVY]
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=5)
    parser.add_argument("names", nargs="*", default=heavy)
    options = parser.parse_args()
    wrong = measure(options.names, options.seconds)
    for each in wrong:
        print(f"fairness: no answer beside {each}", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
