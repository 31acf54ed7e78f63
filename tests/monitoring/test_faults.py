"""Each alert fires on what a real service tells of a real fault, and not before the fault."""

from __future__ import annotations

import json
import resource
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from http.client import HTTPConnection, HTTPException
from pathlib import Path

import pytest

from builders.wire import archer, q
from faults.slow import ITEMS, LINES, PATH, SLOW, SlowRule
from monitoring.alerting import FAULT_AT, NAMES, Expectation, refuted, tool
from monitoring.scraping import history, scrape
from servers import FIT_CHECK, Process, ask, install, needs_proc, service, wait_for

MISBEHAVING = Path(__file__).parents[1] / "faults" / "misbehaving.py"
CLUB = 'default = "club"\n[rulesets.club]\nplugins = ["misbehaving", "slow"]\n'
DEADLINE = 2
"""Seconds; a batch of slow items takes as long, and the stream with it longer."""
LATER = FAULT_AT + 15
"""When each alert has had its time."""


def misbehave(served: Process, deed: str, length: float = 30) -> int:
    given = {"archer": archer(27), "bow": {"kind": "recurve"}, "arrow": {"length": q(length)}}
    body = {**given, "detail": "verdict", "local": {"misbehaving": {deed: True}}}
    return ask(served.port, body=json.dumps(body).encode())[0]


def hang_up(served: Process) -> None:
    """Have the files read again, and wait until only the new worker is left."""
    before = served.children
    served.send(signal.SIGHUP)
    wait_for(lambda: len(served.children) == 1 and not served.children & before)


@contextmanager
def club_file(served: Process, text: str) -> Iterator[None]:
    file = Path(served.environment["DRAWMARK_CONFIG"])
    file.write_text(text)
    hang_up(served)
    yield
    file.write_text(CLUB)
    hang_up(served)


@contextmanager
def rule_that_raises(served: Process) -> Iterator[None]:
    assert misbehave(served, "raises") == 200
    yield


@contextmanager
def rule_that_dawdles_until_it_is_off(served: Process) -> Iterator[None]:
    lengths = iter(range(30, 60))
    while not any(name.startswith("drawmark_rules_off{") for name in scrape(served.port).values):
        assert misbehave(served, "loops", next(lengths)) == 200
    yield
    hang_up(served)


@contextmanager
def slow_requests(served: Process) -> Iterator[None]:
    """A longest draw asks a rule that takes 0.05 s again and again."""
    body = json.dumps({key: SLOW[key] for key in ("archer", "bow", "arrow")}).encode()
    assert ask(served.port, "/v1/longest-draw", body)[0] == 200
    yield


@contextmanager
def stream_beyond_the_deadline(served: Process) -> Iterator[None]:
    torn = scrape(served.port)
    caller = HTTPConnection("127.0.0.1", served.port, timeout=20)
    caller.request("POST", PATH, LINES, {"Content-Type": "application/x-ndjson"})
    with suppress(OSError, HTTPException):
        caller.getresponse().read()
    caller.close()
    name = next(name for name in torn.values if name.startswith("drawmark_streams_torn"))
    wait_for(lambda: scrape(served.port).values[name] > torn.values[name])
    yield


@contextmanager
def more_batches_than_places(served: Process) -> Iterator[None]:
    body = json.dumps({"items": [SLOW] * (ITEMS // 2)}).encode()
    statuses: list[int] = []
    callers = [
        threading.Thread(target=lambda: statuses.append(ask(served.port, PATH, body)[0]))
        for _ in range(4)
    ]
    for caller in callers:
        caller.start()
    for caller in callers:
        caller.join()
    assert 503 in statuses
    yield


@contextmanager
def too_many_open_files(served: Process) -> Iterator[None]:
    """The first drawing reads its templates."""
    (worker,) = served.children
    caller = HTTPConnection("127.0.0.1", served.port, timeout=20)
    caller.request("GET", "/healthz")
    assert caller.getresponse().read()
    taken = {int(one.name) for one in Path(f"/proc/{worker}/fd").iterdir()}
    limits = resource.prlimit(worker, resource.RLIMIT_NOFILE)
    free = min(set(range(len(taken) + 1)) - taken)
    resource.prlimit(worker, resource.RLIMIT_NOFILE, (free, limits[1]))
    wanted = {"Content-Type": "application/json", "Accept": "image/svg+xml"}
    caller.request("POST", "/v1/fit-check", FIT_CHECK, wanted)
    assert caller.getresponse().status == 500
    resource.prlimit(worker, resource.RLIMIT_NOFILE, limits)
    caller.close()
    yield


@contextmanager
def rule_that_is_stuck(served: Process) -> Iterator[None]:
    before = served.children
    with suppress(OSError, HTTPException):
        misbehave(served, "never_ending_regex")
    wait_for(lambda: served.children and not served.children & before)
    yield


@contextmanager
def broken_club_file(served: Process) -> Iterator[None]:
    with club_file(served, "default = ["):
        yield


@contextmanager
def plugin_that_is_not_installed(served: Process) -> Iterator[None]:
    with club_file(served, f'{CLUB}required = ["hall-targets"]\n'):
        yield


@contextmanager
def rule_that_hoards(served: Process) -> Iterator[None]:
    for _ in range(20):
        assert misbehave(served, "hoards") == 200
    yield
    hang_up(served)


@contextmanager
def dead_service(served: Process) -> Iterator[None]:
    served.end()
    yield


FAULTS: list[tuple[Callable, set[str]]] = [
    (rule_that_raises, {"DrawmarkRuleFails"}),
    (
        rule_that_dawdles_until_it_is_off,
        {"DrawmarkRuleFails", "DrawmarkRuleOff", "DrawmarkSingleChecksSlow"},
    ),
    (slow_requests, {"DrawmarkSingleChecksSlow"}),
    (stream_beyond_the_deadline, {"DrawmarkStreamsTorn"}),
    (more_batches_than_places, {"DrawmarkRequestsRefused"}),
    (too_many_open_files, {"DrawmarkRequestsFail"}),
    (rule_that_is_stuck, {"DrawmarkWorkersLost"}),
    (broken_club_file, {"DrawmarkConfigurationStale"}),
    (plugin_that_is_not_installed, {"DrawmarkPluginMissing"}),
    (rule_that_hoards, {"DrawmarkMemoryHigh"}),
    (dead_service, {"DrawmarkDown"}),
]


IN_PROMETHEUS = {"DrawmarkClubClosed"}
"""Alerts whose fault needs a service for many clubs, in `test_prometheus.py`."""


def test_each_alert_has_its_fault() -> None:
    assert set.union(*(alerts for _, alerts in FAULTS), IN_PROMETHEUS) == set(NAMES)


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Process]:
    slow = SlowRule(tmp_path).environment
    club = tmp_path / "club.toml"
    club.write_text(CLUB)
    process = service(
        tmp_path,
        WEB_CONCURRENCY="1",
        DRAWMARK_THREADS="4",
        DRAWMARK_CONFIG=str(club),
        DRAWMARK_DEADLINE=str(DEADLINE),
        **install(Path(slow["PYTHONPATH"]), "misbehaving", MISBEHAVING.read_text()),
    )
    try:
        process.start()
        yield process
    finally:
        process.end()


@pytest.mark.long
@needs_proc
def test_each_fault_fires_its_alerts_and_nothing_fires_before(
    served: Process, tmp_path: Path
) -> None:
    tool("promtool")
    started = scrape(served.port)
    for _ in range(200):
        assert ask(served.port)[0] == 200
    healthy = scrape(served.port)
    expectations = []
    for fault, alerts in FAULTS:
        before = scrape(served.port)
        with fault(served):
            after = scrape(served.port)
        series = history(started, healthy, before, after)
        firing = {FAULT_AT - 1: set(), LATER: alerts}
        # Where the machine is busy, a request of any row may be slow.
        ignored = {"DrawmarkSingleChecksSlow"} - alerts
        expectations.append(Expectation(fault.__name__, series, firing, ignored))
    assert refuted(expectations, tmp_path) == ""
