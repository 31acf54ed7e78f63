"""Searches the worst accepted body of each operation, and tells what it costs.

From the dearest of a few bodies a search changes one trait at a time, and keeps what takes more
processor time, until no change does. Lists are short while it searches. What it found is then
asked at its limits in a process of its own, which tells its time and its greatest memory.

Run: cd tests && python -m benchmarks.worst_bodies [NAME ...]
"""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, Final

from benchmarks.batch_ratio import application, peak, processor_time
from benchmarks.full_bodies import FULL, MAKERS, TRAITS, Maker

TESTS: Final = Path(__file__).parents[1]
BODY_LIMIT: Final = 16 * 1024 * 1024
SHORT: Final = 12
"""Items of a list while searching."""
ROUNDS: Final = 2
LEAST_TIME: Final = 0.05
BETTER: Final = 1.05
"""A change counts that costs this much more."""
_TOO_WEAK: Final = {"spine": "weak", "basis": "at_28", "length": "long"}
STARTS: Final = {
    "full": {},
    "weak": _TOO_WEAK,
    "clicker": _TOO_WEAK | {"control": "clicker"},
    "searched": _TOO_WEAK | {"control": "clicker", "draw": "draws", "shaft": "uniform"},
}
"""Traits of bodies to begin with, where these are not the first of each trait."""


def body_of(name: str, traits: Mapping[str, str], count: int | None = None) -> bytes:
    """A body, no longer than its limits."""
    _, make, most = MAKERS[name]
    count = most if count is None else min(count, most)
    while True:
        body = json.dumps(make(Maker(traits), count), separators=(",", ":")).encode()
        if len(body) <= BODY_LIMIT:
            return body
        count = min(count - 1, int(count * BODY_LIMIT / len(body)))


def ask(app: Any, name: str, body: bytes) -> tuple[str, int]:
    """Ask the application: the status, and the size of the answer."""
    told: list[str] = []
    pieces = app(
        {
            "REQUEST_METHOD": "POST",
            "PATH_INFO": f"/v1/{MAKERS[name][0]}",
            "SERVER_NAME": "x",
            "SERVER_PORT": "80",
            "wsgi.url_scheme": "http",
            "wsgi.input": io.BytesIO(body),
            "CONTENT_TYPE": "application/json",
            "CONTENT_LENGTH": str(len(body)),
        },
        lambda status, headers, fault=None: told.append(status),
    )
    size = sum(map(len, pieces))
    if hasattr(pieces, "close"):
        pieces.close()
    return told[0], size


def time_of(app: Any, name: str, body: bytes, rounds: int = ROUNDS) -> float:
    """Processor seconds of an accepted body, the best of some rounds; 0 of a refused one."""
    if not ask(app, name, body)[0].startswith("200"):
        return 0.0
    times = []
    for _ in range(rounds):
        # The processor's clock moves in ticks, so short requests are repeated.
        before, times_asked, taken = processor_time(), 0, 0.0
        while taken < LEAST_TIME:
            ask(app, name, body)
            times_asked += 1
            taken = processor_time() - before
        times.append(taken / times_asked)
    return min(times)


def search(name: str) -> dict[str, str]:
    """Change one trait at a time for the worse, until none is left that does."""
    app = application("plugins")
    starts = [FULL | start for start in STARTS.values()]
    times = [time_of(app, name, body_of(name, start, SHORT)) for start in starts]
    worst, again = max(times), True
    traits = starts[times.index(worst)]
    while again:
        again = False
        for trait, choices in TRAITS.items():
            for choice in choices:
                changed = {**traits, trait: choice}
                if changed == traits:
                    continue
                body = body_of(name, changed, SHORT)
                taken = time_of(app, name, body, 1)
                if taken < worst * BETTER or time_of(app, name, body) < worst * BETTER:
                    continue
                if ask(app, name, body_of(name, changed))[0].startswith("200"):
                    traits, worst, again = changed, taken, True
    return traits


def measure(name: str) -> dict[str, Any]:
    """Ask what standard input holds once, in this process, which never held more than its text."""
    app, body = application("plugins"), sys.stdin.buffer.read()
    status, size = ask(app, name, body)
    told = {"status": status, "in": len(body), "out": size, "peak": peak()}
    return {**told, "s": time_of(app, name, body, 1)}


STEPS: Final[dict[str, Callable[..., dict[str, Any]]]] = {"search": search, "measure": measure}


def fresh(*step: str, body: bytes = b"") -> dict[str, Any]:
    """Take a step in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.worst_bodies", "step", *step],
        cwd=TESTS,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        input=body,
        stdout=subprocess.PIPE,
        check=True,
    )
    told: dict[str, Any] = json.loads(done.stdout)
    return told


def commit() -> str:
    """The commit that is measured; a copy without history has it in a variable."""
    if revision := os.environ.get("DRAWMARK_REVISION"):
        return revision[:7]
    told = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], cwd=TESTS, capture_output=True, text=True
    )
    return told.stdout.strip() or "unknown"


def main(names: Iterable[str]) -> None:
    print(f"At {commit()}: processor time of one request, and greatest memory of the process.\n")
    print("| operation | body | answer | time | memory | worst |")
    print("| --- | --- | --- | --- | --- | --- |")
    for name in names:
        traits = fresh("search", name)
        told = fresh("measure", name, body=body_of(name, traits))
        assert told["status"].startswith("200"), told
        print(
            f"| {name} | {told['in'] / 1000:,.0f} kB | {told['out'] / 1000:,.0f} kB | "
            f"{told['s'] * 1000:,.0f} ms | {told['peak']:.0f} MB | {', '.join(_told(traits))} |",
            flush=True,
        )


def _told(traits: Mapping[str, str]) -> Iterable[str]:
    """The traits that are not those of the first choice, and the shaft."""
    for trait, choice in traits.items():
        if trait == "shaft" or choice != TRAITS[trait][0]:
            yield f"{trait} {choice}"


if __name__ == "__main__":
    if sys.argv[1:2] == ["step"]:
        print(json.dumps(STEPS[sys.argv[2]](*sys.argv[3:])))
    else:
        main(sys.argv[1:] or MAKERS)
