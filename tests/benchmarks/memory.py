"""What memory a worker keeps once it has answered the longest bodies.

Run: cd tests && python -m benchmarks.memory

Eight callers at once send the longest body of each operation, twice each, to a service of one
worker. It prints the worker's resident memory after each, and fails if the last is above 200 MB.
"""

from __future__ import annotations

import signal
import sys
import tempfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Final

from benchmarks.fairness import send
from benchmarks.full_bodies import FULL, MAKERS
from benchmarks.worst_bodies import body_of, commit
from servers import Process, service, wait_for

CALLERS: Final = 8
MOST: Final = 200.0
"""Resident memory of a worker after all of it [MB]."""


def resident(process: int) -> tuple[float, float]:
    """Resident memory of a process now, and the most that it was [MB]."""
    lines = Path(f"/proc/{process}/status").read_text().splitlines()
    told = dict(line.split(":", 1) for line in lines)
    return int(told["VmRSS"].split()[0]) / 1000, int(told["VmHWM"].split()[0]) / 1000


def measure(served: Process) -> float:
    """Send every body, and give what is resident at the end [MB]."""
    (worker,) = served.children
    now, most = resident(worker)
    print(f"{'at the start':24} {now:6.0f} MB, at most {most:6.0f} MB", flush=True)
    for name, (path, *_) in MAKERS.items():
        body = body_of(name, FULL)
        with ThreadPoolExecutor(CALLERS) as callers:
            asked = [(served.port, f"/v1/{path}", body)] * (2 * CALLERS)
            statuses = Counter(status for status, _ in callers.map(lambda one: send(*one), asked))
        now, most = resident(worker)
        told = ", ".join(f"{status}: {count}" for status, count in sorted(statuses.items()))
        print(f"{name:24} {now:6.0f} MB, at most {most:6.0f} MB; {told}", flush=True)
    assert served.children == {worker}, "the worker ended"
    return now


def main() -> int:
    """Measure one worker."""
    print(f"At {commit()}: resident memory of a worker.")
    with tempfile.TemporaryDirectory() as folder:
        process = service(Path(folder), WEB_CONCURRENCY="1", DRAWMARK_DEADLINE="30")
        try:
            process.start()
            wait_for(lambda: len(process.children) == 1)
            end = measure(process)
        finally:
            process.end(signal.SIGTERM)
    if end > MOST:
        print(f"memory: {end:.0f} MB at the end, above {MOST:g}", file=sys.stderr)
    return int(end > MOST)


if __name__ == "__main__":
    sys.exit(main())
