"""What a thousand clubs cost one service, beside a single club.

Run: cd tests && python -m benchmarks.many_clubs

It prints seconds from the start of the service to its first answer, by clock and by the processor
time of the first process; resident memory of that process; and the worker's processor time of a
fit check: for one club, and of many for the same club each time and for any club each time. Ratios
are medians of interleaved rounds. It fails if the start takes more than 5 s of the processor, or
many clubs take 20 MB more.
"""

from __future__ import annotations

import json
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from typing import Final

import requests

from benchmarks.http_ratio import processor_time
from benchmarks.memory import resident
from benchmarks.worst_bodies import commit
from drawmark.tokens import make_token
from drawmark.web.document.examples import EXAMPLES
from servers import Process, running, service, wait_for

CLUBS: Final = 1000
TOKENS_FOR_EACH: Final = 3
LONGEST_START: Final = 5.0
MOST_MORE: Final = 20.0
"""Memory that a thousand clubs may take beside one [MB]."""
FILE: Final = """
default = "beginners"

[rulesets.beginners]
title = "Beginners of {name}"
plugins = ["club-minimums"]
required = ["club-minimums"]

[rulesets.beginners.settings.club-minimums]
minimum_length = "{length} in"
greatest_draw_weight = "{weight} lbf"

[[rulesets.beginners.rules]]
id = "past-the-bow"
floor_past_back = "{past} in"
message = "{name} asks for {past} in past the back of the bow."

[[rulesets.beginners.rules]]
id = "no-wood"
fact = "shaft_material"
among = ["wood"]
severity = "stop"
message = "The backstop of {name} breaks wooden arrows. Use others."

[rulesets.indoor]
title = "Indoor of {name}"
plugins = ["club-minimums", "clicker-clearance"]

[rulesets.indoor.settings.club-minimums]
minimum_length = "{length} in"
"""


@dataclass
class Served:
    """A service, the headers of each of its clubs, and what its start took."""

    process: Process
    headers: list[dict[str, str]]
    started: float
    processor: float
    worker: int = 0
    connection: HTTPConnection | None = None

    def ask(self, headers: dict[str, str], body: bytes) -> None:
        """Send a fit check on a connection that is kept."""
        assert self.connection is not None
        self.connection.request("POST", "/v1/fit-check", body, headers)
        answer = self.connection.getresponse()
        assert answer.read().startswith(b'{"verdict"')


def write_clubs(folder: Path, count: int) -> tuple[dict[str, str], list[str]]:
    """Write files and tokens; give the environment and a token of each club."""
    (folder / "clubs").mkdir()
    lines, tokens = [], []
    for number in range(count):
        name = f"club-{number}"
        # All differ, and none bears on the verdict, so that a check is the same work for each.
        text = FILE.format(
            name=name,
            length=round(20 + number / 1000, 3),
            weight=round(60 + number / 100, 2),
            past=round(0.2 + number / 10_000, 4),
        )
        (folder / "clubs" / f"{name}.toml").write_text(text)
        for one in range(TOKENS_FOR_EACH):
            words = [f"club={name}", *(["rulesets=beginners"] if one else [])]
            token, line = make_token(f"{name}-{one}", words)
            lines.append(line)
            if not one:
                tokens.append(token)
    (folder / "tokens").write_text("\n".join(lines))
    environment = {
        "DRAWMARK_CONFIG": str(folder / "clubs"),
        "DRAWMARK_TOKENS_FILE": str(folder / "tokens"),
    }
    return environment, tokens


@contextmanager
def serving(folder: Path, count: int) -> Iterator[Served]:
    """A service of so many clubs and one worker."""
    folder.mkdir()
    environment, tokens = write_clubs(folder, count)
    headers = [
        {"Authorization": f"Bearer {token}", "Content-Type": "application/json"} for token in tokens
    ]
    process = service(folder, WEB_CONCURRENCY="1", DRAWMARK_LOG_REQUESTS="0", **environment)
    began = time.monotonic()
    with running(process):
        url = process.url + "/v1/fit-check"
        wait_for(lambda: requests.post(url, json=EXAMPLES["fit-check"], headers=headers[-1]).ok)
        started = time.monotonic() - began
        served = Served(process, headers, started, processor_time(process.first))
        (served.worker,) = process.children
        served.connection = HTTPConnection("127.0.0.1", process.port, timeout=30)
        yield served
        served.connection.close()


def spent(served: Served, clubs: Sequence[int], body: bytes) -> float:
    """Processor time of the worker for a request of each of these clubs, on average [us]."""
    before = processor_time(served.worker)
    for club in clubs:
        served.ask(served.headers[club], body)
    return (processor_time(served.worker) - before) / len(clubs) * 1e6


def measure(count: int = CLUBS, rounds: int = 9, each: int = 400) -> dict[str, float]:
    """Compare a service of one club with one of many."""
    rng, body = random.Random(1), json.dumps(EXAMPLES["fit-check"]).encode()
    with tempfile.TemporaryDirectory() as folder, ExitStack() as stack:
        one = stack.enter_context(serving(Path(folder) / "one", 1))
        many = stack.enter_context(serving(Path(folder) / "many", count))
        first, firsts = (resident(each_of.process.first)[0] for each_of in (one, many))
        # Every club is asked once before, as on an evening.
        spent(one, [0] * each, body)
        spent(many, range(count), body)
        times: list[tuple[float, float, float]] = []
        for _ in range(rounds):
            times.append(
                (
                    spent(one, [0] * each, body),
                    spent(many, [count // 2] * each, body),
                    spent(many, [rng.randrange(count) for _ in range(each)], body),
                )
            )
        workers = [resident(each_of.worker)[0] for each_of in (one, many)]
        return {
            "start of one club, s": one.started,
            "start of many clubs, s": many.started,
            "start of one club, processor s": one.processor,
            "start of many clubs, processor s": many.processor,
            "first process with one club, MB": first,
            "first process, MB more with many clubs": firsts - first,
            "worker after a check of every club, MB more": workers[1] - workers[0],
            "fit check of one club, us": statistics.median(alone for alone, _, _ in times),
            "the same of many, always one club": statistics.median(b / a for a, b, _ in times),
            "the same of many, any club": statistics.median(c / a for a, _, c in times),
        }


def main() -> int:
    """Measure, and hold the bars."""
    print(f"At {commit()}: {CLUBS} clubs with {CLUBS * TOKENS_FOR_EACH} tokens, beside one.")
    measured = measure()
    for name, figure in measured.items():
        print(f"{name:46} {figure:8.2f}")
    slow = measured["start of many clubs, processor s"] > LONGEST_START
    large = measured["first process, MB more with many clubs"] > MOST_MORE
    return int(slow or large)


if __name__ == "__main__":
    sys.exit(main())
