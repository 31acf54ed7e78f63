"""What other callers feel while some send the longest requests without pause, or half a request.

Run: cd tests && python -m benchmarks.fairness --seconds 5 [NAME ...]

It prints median and 99th percentile of single checks: alone, beside slow callers, and beside each
heavy operation with its longest body. It fails if a single check gets no answer, if the 99th
percentile beside a heavy operation is above five times that alone, or if one takes longer than 2 s
beside slow callers. Other work on the machine counts in all figures.
"""

from __future__ import annotations

import argparse
import socket
import statistics
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from http.client import HTTPConnection, HTTPException

from benchmarks.full_bodies import FULL, MAKERS
from benchmarks.load import percentile, serving
from benchmarks.worst_bodies import body_of, commit
from drawmark.web.server.gateway import HEAVY
from servers import FIT_CHECK

CROWD = 8
"""Callers that send heavy requests without pause."""
SLOW = 16
"""Callers that send half a request: as many as there are threads."""
RATE = 40.0
"""Single checks a second."""
PATIENCE = 20.0
"""How long a caller waits for an answer [s]."""
MOST_TIMES = 5.0
"""The 99th percentile beside heavy requests, at most, over that alone."""
TRIES = 2
"""How often it may be more before it counts."""
LONGEST = 2.0
"""The longest that a single check may take beside slow callers [s]."""

STANDSTILL = 5.0
"""How long a slow caller stands still [s]; a second later it comes again."""

HEAD = b"POST /v1/fit-check HTTP/1.1\r\nHost: x\r\nContent-Length: %d\r\n" % len(FIT_CHECK)
HALVES = (HEAD, HEAD + b"\r\n" + FIT_CHECK[:20])
"""Requests that stop in the header, and in the body."""


@dataclass
class Felt:
    """How long single checks took, and which got no answer."""

    seconds: list[float] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    @property
    def p99(self) -> float:
        """The 99th percentile [s]."""
        return percentile(self.seconds, 99)

    def row(self, beside: str, alone: Felt, others: Counter[str]) -> str:
        """A row of the table."""
        median, longest = statistics.median(self.seconds), max(self.seconds)
        figures = " | ".join(f"{1000 * each:.1f} ms" for each in (median, self.p99, longest))
        times = f"{self.p99 / alone.p99:.1f}" if others else ""
        answers = ", ".join(f"{status}: {count}" for status, count in sorted(others.items()))
        return f"| {beside} | {len(self.seconds)} | {figures} | {times} | {answers} |"


class Crowd:
    """Callers that do the same again and again until they are told to stop."""

    def __init__(self, *turns: Callable[[], str]) -> None:
        self.outcomes: Counter[str] = Counter()
        self._over = threading.Event()
        self._threads = [threading.Thread(target=self._repeat, args=[turn]) for turn in turns]

    def __enter__(self) -> Crowd:
        for thread in self._threads:
            thread.start()
        return self

    def _repeat(self, turn: Callable[[], str]) -> None:
        while not self._over.is_set():
            outcome = turn()
            self.outcomes[outcome] += 1
            # As polite as Retry-After asks for, or eight refusals a millisecond are the load.
            if outcome != "200":
                self._over.wait(1)

    def __exit__(self, *_: object) -> None:
        self._over.set()
        for thread in self._threads:
            thread.join(PATIENCE)


def stop_halfway(port: int, half: bytes) -> str:
    """Send half a request, and stand still until the service ends it or the caller gives up."""
    with socket.create_connection(("127.0.0.1", port), STANDSTILL) as caller:
        caller.sendall(half)
        try:
            while caller.recv(65536):
                pass
        except TimeoutError:
            return "gave up"
        except ConnectionError:
            pass
    return "cut off"


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


def status_of(port: int, path: str, body: bytes) -> str:
    """Ask once: the status, or the fault."""
    return send(port, path, body)[0]


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
        port = process.port

        def beside(name: str, seconds: float, *turns: Callable[[], str]) -> Felt:
            with Crowd(*turns) as crowd:
                time.sleep(0.5)
                felt = feel(port, seconds)
            print(felt.row(name, alone, crowd.outcomes), flush=True)
            wrong.extend(f"no answer beside {name}: {each}" for each in sorted(set(felt.faults)))
            return felt

        feel(port, 1.0)
        alone = feel(port, seconds)
        print(alone.row("nothing", alone, Counter()), flush=True)
        wrong += [f"no answer alone: {each}" for each in sorted(set(alone.faults))]
        turns = [partial(stop_halfway, port, half) for half in HALVES]
        felt = beside("slow callers", seconds, *turns * (SLOW // len(turns)))
        if max(felt.seconds) > LONGEST:
            wrong.append(f"longer than {LONGEST:g} s beside slow callers")
        for name in names:
            body = body_of(name, FULL)
            turn = partial(status_of, port, f"/v1/{MAKERS[name][0]}", body)
            # Other work on the machine makes single checks slow too, so one quiet try is enough.
            if all(
                beside(name, seconds / 2, *[turn] * CROWD).p99 > MOST_TIMES * alone.p99
                for _ in range(TRIES)
            ):
                wrong.append(f"above {MOST_TIMES:g} times beside {name}")
    return wrong


def main() -> int:
    """Measure as the command line says."""
    heavy = [name for name, (path, *_) in MAKERS.items() if f"/v1/{path}" in HEAVY]
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=5)
    parser.add_argument("names", nargs="*", default=heavy)
    options = parser.parse_args()
    print(
        f"At {commit()}: single checks, {RATE:g} a second for {options.seconds:g} s, and for "
        f"{options.seconds / 2:g} s beside each heavy request.\n"
    )
    print("| beside | checks | median | p99 | longest | times p99 alone | what those callers got |")
    print("|" + " --- |" * 7, flush=True)
    wrong = measure(options.names, options.seconds)
    for each in wrong:
        print(f"fairness: {each}", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
