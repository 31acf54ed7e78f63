"""What more services behind nginx bring, and what a thousand clubs on one evening need.

Run: cd tests && python -m benchmarks.scaling [--seconds 10] [--prices]

Callers that each ask again as soon as they are answered send the requests of club evenings through
nginx to 1, 2 and 4 services of one worker each: first with all processors, then with a share of a
processor for each service, so that a small machine too shows how they scale. The ideal is what
processors or shares allow at the prices of the first row; what other processes take is subtracted.

With --prices it prints what each kind of request takes of the processors, and what follows for a
thousand clubs, as it stands in operating.md.
"""

from __future__ import annotations

import argparse
import itertools
import json
import math
import os
import platform
import random
import re
import selectors
import signal
import socket
import statistics
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from benchmarks.club import Item, members
from benchmarks.http_ratio import processor_time
from benchmarks.load import percentile
from benchmarks.worst_bodies import commit
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.accept import HTML, JSON, SVG
from nginx import nginx
from servers import Process, service

REPLICAS: Final = (1, 2, 4)
CALLERS: Final = 16
SHARE: Final = 0.2
"""Of a processor for each service, where they are limited: four leave two processors room."""
PERIOD: Final = 10_000
"""In which a limited service uses its share: a stall is far shorter than an answer [us]."""
GROUPS: Final = Path("/sys/fs/cgroup/cpu")
SHORTER: Final = 120
"""Lengths about which the coach's page asks at once."""
ROUNDS: Final = 9

CLUBS: Final = 1_000
ARCHERS: Final = 20
FIGURES: Final = 10
"""Figures that change while an archer's are typed in."""
HOUR: Final = 3_600
PEAK: Final = 3
"""Times as many requests as on average."""
RESERVE: Final = 0.5
"""Part of the processors that is at work at the peak, so that answers stay quick."""
WORKERS: Final = 2
SERVICE_MEMORY, NGINX_MEMORY = 768, 256
"""Limits of the containers in compose.yaml [MB]."""


@dataclass(frozen=True, kw_only=True)
class Kind:
    """A kind of request, and how many of it a club sends in an evening."""

    name: str
    count: int
    path: str
    bodies: Sequence[Item]
    accept: str = JSON

    def messages(self) -> list[bytes]:
        """Give its requests as they are sent."""
        sent = []
        for item in self.bodies:
            body = json.dumps(item).encode()
            head = (
                f"POST /v1/{self.path} HTTP/1.1\r\nHost: club\r\nAccept: {self.accept}\r\n"
                f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
            )
            sent.append(head.encode() + body)
        return sent


def shorter(check: Item) -> Item:
    """Give the batch with which the coach's page finds the verdicts of shorter arrows."""
    length = check["arrow"]["length"]
    step = {"in": 0.05, "cm": 0.1, "mm": 1}[length["unit"]]
    values = (round(length["value"] - step * place, 3) for place in range(SHORTER))
    arrows = [{**check["arrow"], "length": {**length, "value": value}} for value in values]
    return {"items": [{**check, "arrow": arrow, "detail": "verdict"} for arrow in arrows]}


def evening() -> tuple[Kind, ...]:
    """Give what a club asks while its archers shoot."""
    people = members(30)
    checks = [{name: one[name] for name in ("archer", "bow", "arrow")} for one in people]
    typed = checks[:ARCHERS]
    (first, *_) = EXAMPLES["order"]["sets"]
    order = [
        {**first, "id": one["id"], "archer": one["archer"], "bow": one["bow"]}
        for one in people[:ARCHERS]
    ]
    assignment = {
        "archers": [{name: one[name] for name in ("id", "archer", "bow")} for one in people],
        "sets": [{"id": one["id"], "arrow": one["arrow"], "count": 12} for one in people[:20]],
        "arrows_per_archer": 6,
    }
    figures = ARCHERS * FIGURES
    return (
        Kind(name="fit check", count=figures, path="fit-check", bodies=typed),
        Kind(name="its drawing", count=figures, path="fit-check", bodies=typed, accept=SVG),
        Kind(
            name=f"batch of {SHORTER} shorter lengths",
            count=figures,
            path="fit-check/batch",
            bodies=[shorter(one) for one in typed],
        ),
        Kind(name="card to print", count=ARCHERS, path="fit-check", bodies=typed, accept=HTML),
        Kind(
            name="30 archers, 20 sets: who shoots which",
            count=1,
            path="kit/assignments",
            bodies=[assignment],
        ),
        Kind(name=f"order of {ARCHERS} sets", count=1, path="order", bodies=[{"sets": order}]),
    )


def messages() -> Iterator[bytes]:
    """Give the requests of evenings without end, mixed, the same in each run."""
    asked = []
    for kind in evening():
        asked += list(itertools.islice(itertools.cycle(kind.messages()), kind.count))
    random.Random(1).shuffle(asked)
    return itertools.cycle(asked)


@dataclass
class Caller:
    """A connection that asks again as soon as it is answered."""

    connection: socket.socket
    sent: float = 0.0
    received: bytearray = field(default_factory=bytearray)

    def ask(self, message: bytes) -> None:
        """Send a request."""
        self.received.clear()
        self.sent = time.perf_counter()
        self.connection.sendall(message)

    def take(self) -> int:
        """Take what arrived, and give the status once the answer is whole, else 0."""
        piece = self.connection.recv(1 << 18)
        assert piece, "an answer was cut off"
        self.received += piece
        head = self.received.find(b"\r\n\r\n")
        if head < 0:
            return 0
        length = re.search(rb"\r\nContent-Length: (\d+)\r\n", self.received[: head + 2])
        assert length, "an answer without a length"
        whole = len(self.received) == head + 4 + int(length[1])
        return int(self.received[9:12]) if whole else 0


def ask_for(
    port: int, asked: Iterator[bytes], seconds: float, callers: int = CALLERS
) -> list[float]:
    """Ask for a time, and give how long each answer took [s].

    All must be 200, but for one in a hundred that a service at its limit refuses for now.
    """
    taken: list[float] = []
    statuses: Counter[int] = Counter()
    end = time.perf_counter() + seconds
    with selectors.DefaultSelector() as waiting, ExitStack() as held:
        for _ in range(callers):
            connection = socket.create_connection(("127.0.0.1", port), 30)
            caller = Caller(held.enter_context(closing(connection)))
            waiting.register(connection, selectors.EVENT_READ, caller)
            caller.ask(next(asked))
        while waiting.get_map():
            ready = waiting.select(30)
            assert ready, "no answer for 30 s"
            for key, _ in ready:
                status = key.data.take()
                if not status:
                    continue
                now = time.perf_counter()
                taken.append(now - key.data.sent)
                statuses[status] += 1
                if now < end:
                    key.data.ask(next(asked))
                else:
                    waiting.unregister(key.fileobj)
    assert statuses.keys() <= {200, 503}, statuses
    assert 100 * statuses[503] <= statuses[200], statuses
    return taken


@contextmanager
def limited(process: Process, share: float | None) -> Iterator[None]:
    """Run a service with a share of a processor, by a control group of its own."""
    with ExitStack() as last:
        if share is not None:
            group = GROUPS / f"drawmark-scaling-{os.getpid()}-{process.port}"
            group.mkdir()
            last.callback(group.rmdir)
            (group / "cpu.cfs_period_us").write_text(str(PERIOD))
            (group / "cpu.cfs_quota_us").write_text(str(round(share * PERIOD)))
        try:
            process.start()
            if share is not None:
                for each in (process.first, *process.children):
                    (group / "cgroup.procs").write_text(str(each))
            yield
        finally:
            process.end(signal.SIGTERM)


@dataclass
class Behind:
    """Services, and nginx before them."""

    services: list[Process]
    front: Process

    def spent(self) -> tuple[float, float]:
        """Processor seconds of the services and of nginx."""
        served = sum(spent(one) for one in self.services)
        return served, spent(self.front)


def spent(process: Process) -> float:
    """Processor seconds of a server and its workers."""
    return sum(map(processor_time, (process.first, *process.children)))


def spent_by_all() -> float:
    """Processor seconds that this machine has worked since it was started."""
    ticks = list(map(int, Path("/proc/stat").read_text().split("\n", 1)[0].split()[1:9]))
    idle, waiting = ticks[3:5]
    return (sum(ticks) - idle - waiting) / os.sysconf("SC_CLK_TCK")


@contextmanager
def behind_nginx(count: int, share: float | None = None) -> Iterator[Behind]:
    """Run services of one worker each behind nginx, which limits nobody here."""
    with tempfile.TemporaryDirectory() as name, ExitStack() as running:
        folder = Path(name)
        # Half of the threads are for heavy requests: so many that none is refused.
        settings = {"WEB_CONCURRENCY": "1", "DRAWMARK_THREADS": str(2 * CALLERS)}
        services = [service(folder, f"service-{place}", **settings) for place in range(count)]
        for one in services:
            running.enter_context(limited(one, share))
        front = nginx(folder, [one.port for one in services])
        running.callback(front.end, signal.SIGTERM)
        front.start()
        yield Behind(services, front)


@dataclass(frozen=True, kw_only=True)
class Row:
    """What a number of services reached, and what a request took of the processors [s]."""

    replicas: int
    rate: float
    median: float
    p99: float
    service: float
    nginx: float
    client: float
    processors: float
    """Those that other processes left."""
    ideal: float = 0.0

    def written(self) -> str:
        """Give a line of the table."""
        times = (self.median, self.p99, self.service, self.nginx, self.client)
        told = " | ".join(f"{1000 * each:.2f}" for each in times)
        reached = f"{self.ideal:.0f} | {100 * self.rate / self.ideal:.0f} %"
        return f"| {self.replicas} | {self.rate:.0f} | {told} | {self.processors:.1f} | {reached} |"


def measure(count: int, seconds: float, share: float | None = None) -> Row:
    """Measure so many services."""
    with behind_nginx(count, share) as servers:
        asked = messages()
        ask_for(servers.front.port, asked, min(2.0, seconds))
        before = (*servers.spent(), time.process_time(), spent_by_all())
        begun = time.perf_counter()
        taken = ask_for(servers.front.port, asked, seconds)
        lasted = time.perf_counter() - begun
        after = (*servers.spent(), time.process_time(), spent_by_all())
    *ours, everyone = (now - then for then, now in zip(before, after, strict=True))
    served, passed, sent = (each / len(taken) for each in ours)
    others = max(0.0, everyone - sum(ours)) / lasted
    return Row(
        replicas=count,
        rate=len(taken) / lasted,
        median=statistics.median(taken),
        p99=percentile(taken, 99),
        service=served,
        nginx=passed,
        client=sent,
        processors=len(os.sched_getaffinity(0)) - others,
    )


def table(replicas: Iterable[int], seconds: float, share: float | None = None) -> list[Row]:
    """Measure numbers of services, with what each could reach at the prices of the first."""
    rows: list[Row] = []
    for count in replicas:
        row = measure(count, seconds, share)
        first = rows[0] if rows else row
        most = count * (share or 1.0) / first.service
        room = row.processors / (first.service + first.nginx + first.client)
        rows.append(replace(row, ideal=min(most, room)))
    return rows


def print_table(rows: Iterable[Row]) -> None:
    """Print as Markdown."""
    print(
        "| services | requests a second | median, ms | p99, ms | service, ms | nginx, ms "
        "| client, ms | processors | ideal | reached |"
    )
    print("|" + " --- |" * 10)
    for row in rows:
        print(row.written(), flush=True)


Price = tuple[float, float]
"""What a request takes of the processors in the service and in nginx [ms]."""


def prices(rounds: int = ROUNDS, seconds: float = 0.2) -> dict[str, Price]:
    """Measure what each kind takes: medians of rounds in which each kind has its turn."""
    found: dict[str, list[Price]] = {}
    with behind_nginx(1) as servers:
        for number in range(rounds + 1):
            for kind in evening():
                before = servers.spent()
                asked = itertools.cycle(kind.messages())
                count = len(ask_for(servers.front.port, asked, seconds, callers=2))
                served, passed = (
                    1000 * (now - then) / count
                    for then, now in zip(before, servers.spent(), strict=True)
                )
                if number:
                    found.setdefault(kind.name, []).append((served, passed))
    # As they are printed, so that what is printed follows from them.
    return {
        name: (
            round(statistics.median(served for served, _ in each), 2),
            round(statistics.median(passed for _, passed in each), 2),
        )
        for name, each in found.items()
    }


def needs(priced: Mapping[str, Price]) -> str:
    """Write what a thousand clubs need at those prices, as Markdown."""
    lines = ["| request | a club | service | nginx | 1,000 clubs |", "|" + " --- |" * 5]
    total = served = 0.0
    for kind in evening():
        service_price, nginx_price = priced[kind.name]
        together = kind.count * (service_price + nginx_price)
        total += together
        served += kind.count * service_price
        lines.append(
            f"| {kind.name} | {kind.count} | {service_price:.2f} ms | {nginx_price:.2f} ms "
            f"| {together:,.0f} s |"
        )
    count = sum(kind.count for kind in evening())
    lines += [f"| together | {count} | | | {total:,.0f} s |", ""]
    busy = math.ceil(10 * total / HOUR * PEAK) / 10
    processors = math.ceil(busy / RESERVE)
    copies = math.ceil(served / HOUR * PEAK / RESERVE / WORKERS)
    memory = (copies + 1) * SERVICE_MEMORY + NGINX_MEMORY
    lines += [
        "| at the peak | of 1,000 clubs | is |",
        "|" + " --- |" * 3,
        f"| requests a second | {count * CLUBS / HOUR * PEAK:.0f} "
        f"| {count} × {CLUBS:,} ÷ {HOUR:,} s × {PEAK} |",
        f"| processors at work | {busy:.1f} | {total:,.0f} s ÷ {HOUR:,} s × {PEAK}, rounded up |",
        f"| processors, half of them at rest | {processors} | {busy:.1f} ÷ {RESERVE}, rounded up |",
        f"| copies of {WORKERS} workers | {copies + 1} "
        f"| {copies} for the services' part of it, and one that may be replaced |",
        f"| memory | {memory:,} MB "
        f"| {copies + 1} × {SERVICE_MEMORY} MB, and {NGINX_MEMORY} MB for nginx: their limits |",
    ]
    return "\n".join(lines)


def main() -> None:
    """Measure as the command line says."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=10)
    parser.add_argument("--prices", action="store_true")
    options = parser.parse_args()
    processors = len(os.sched_getaffinity(0))
    print(f"At {commit()}, Python {platform.python_version()}, {processors} processors.", end=" ")
    if options.prices:
        print(f"Medians of {ROUNDS} rounds.\n\n{needs(prices())}")
        return
    print(f"{CALLERS} callers, {options.seconds:g} s each.\n")
    print_table(table(REPLICAS, options.seconds))
    if not os.access(GROUPS / "cpu.cfs_quota_us", os.W_OK):
        print(f"\nNot measured with limited services: {GROUPS} is not there, or not ours.")
        return
    print(f"\nEach service with {SHARE:g} of a processor:\n")
    print_table(table(REPLICAS, options.seconds, SHARE))


if __name__ == "__main__":
    main()
