"""What each misbehaviour of a plugin does under gunicorn: to its caller, its worker, the others.

The plugin is found by the metadata of a distribution in a folder on the path.
"""

import json
import os
import re
import resource
import signal
import threading
import time
from http.client import HTTPException
from pathlib import Path

import pytest

from builders.wire import archer, q
from drawmark.rules import kill_timer
from drawmark.rules.strikes import STRIKES
from drawmark.rules.watch import EXIT_STUCK, TIME_LIMIT
from servers import FIT_CHECK, ask, install, needs_proc, service, wait_for

pytestmark = needs_proc
MISBEHAVING = Path(__file__).with_name("misbehaving.py")
PASSING = {
    "archer": archer(27),
    "bow": {"kind": "recurve"},
    "arrow": {"length": q(30)},
}
STOPPED = json.loads(FIT_CHECK)
# On a busy machine three calls that are stopped take longer than a single request may.
UNHURRIED = {"DRAWMARK_SINGLE_DEADLINE": "10"}
MEMORY = 3 << 30
"""What a process of the service may take, in bytes."""


def doing(deed, body=PASSING):
    local = {"misbehaving": {deed.replace("-", "_"): True}}
    return json.dumps({**body, "local": local}).encode()


@pytest.fixture(scope="module")
def running(tmp_path_factory):
    folder = tmp_path_factory.mktemp("misbehaving")
    found = install(folder, "misbehaving", MISBEHAVING.read_text())
    process = service(folder, WEB_CONCURRENCY="2", DRAWMARK_THREADS="4", **UNHURRIED, **found)
    before = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, before[1]))
    try:
        process.start()
    finally:
        resource.setrlimit(resource.RLIMIT_AS, before)
    try:
        wait_for(lambda: len(process.children) == 2)
        yield process
    finally:
        process.end()


class Others:
    """Two callers who ask for what is in order, all the while."""

    def __init__(self, port):
        self.port, self.lost, self.wrong, self.slowest = port, 0, 0, 0.0
        self.over = threading.Event()
        self.threads = [threading.Thread(target=self.repeat) for _ in range(2)]

    def repeat(self):
        body = json.dumps(PASSING).encode()
        while not self.over.is_set():
            started = time.monotonic()
            try:
                status, text = ask(self.port, body=body)
            except (OSError, HTTPException):
                self.lost += 1
            else:
                self.wrong += (status, json.loads(text)["verdict"]) != (200, "pass")
                self.slowest = max(self.slowest, time.monotonic() - started)
            time.sleep(0.01)

    def __enter__(self):
        for thread in self.threads:
            thread.start()
        return self

    def __exit__(self, *_):
        self.over.set()
        for thread in self.threads:
            thread.join(30)


FAILS = {
    "raises": "raised KeyError: 'lost'",
    "loops": "ran longer than 250 ms",
    "loops-in-a-generator": "ran longer than 250 ms",
    "says-without-end": "said more than 50 things",
    "recurses": "raised RecursionError: maximum recursion depth exceeded",
    "exits": "raised SystemExit: 3",
    "interrupts": "raised KeyboardInterrupt",
    "eats-memory": "raised MemoryError|ran longer than 250 ms",
    "returns-nothing": "returned None; yield what it says, or return a list",
    "returns-text": "returned str, not a floor, a ceiling or a finding",
    "returns-the-class": "returned StructMeta, not a floor, a ceiling or a finding",
    "returns-a-promise": "returned coroutine; yield what it says, or return a list",
    "sets-a-floor-of-nan": "gave a length that is not finite",
    "sets-a-floor-in-millimetres": "gave a length beyond 3 m; rules speak in metres",
    "sets-a-floor-in-words": "gave str as a length",
    "speaks-in-surrogates": "gave a message that is not plain text of 1 to 500 signs",
    "speaks-for-hours": "gave a message that is not plain text of 1 to 500 signs",
    "passes-what-is-unsafe": "gave an unknown severity",
    "changes-the-arrow": "raised FrozenInstanceError: cannot assign to field 'length'",
    "changes-the-facts": "raised AttributeError: immutable type: 'Facts'",
}


@pytest.mark.parametrize(("deed", "reason"), FAILS.items(), ids=FAILS)
def test_the_caller_is_told_and_nothing_else_changes(running, deed, reason):
    workers = running.children
    with Others(running.port) as others:
        status, text = ask(running.port, body=doing(deed))
        answer = json.loads(text)
    assert status == 200
    assert answer["verdict"] == answer["status"] == "indeterminate"
    assert "minimum" not in answer
    assert answer["minimum_at_least"] == q(28)
    (told,) = answer["unevaluated"]
    assert (told["plugin"], told["rule"]) == ("misbehaving", deed)
    assert re.match(f"The rule ({reason})", told["reason"])
    assert running.children == workers
    assert (others.lost, others.wrong) == (0, 0)


@pytest.mark.parametrize("deed", ["raises", "loops", "sets-a-floor-of-nan", "exits"])
def test_a_stop_is_never_hidden(running, deed):
    status, text = ask(running.port, body=doing(deed, STOPPED))
    assert (status, json.loads(text)["verdict"]) == (200, "stop")


@pytest.mark.parametrize("deed", ["prints", "starts-threads", "remembers-everything"])
def test_what_is_only_untidy_is_let_be(running, deed):
    workers = running.children
    status, text = ask(running.port, body=doing(deed))
    answer = json.loads(text)
    assert (status, answer["verdict"], answer["unevaluated"]) == (200, "pass", [])
    assert running.children == workers


def log_since(running, place):
    return running.log.read_text(encoding="utf-8", errors="replace")[place:]


ENDS = {
    # Deed: how the master sees the worker end, and whether a traceback is written.
    "sleeps-in-c": (f"exited with code {EXIT_STUCK}", True),
    "swallows-every-timeout": (f"exited with code {EXIT_STUCK}", True),
    "never-ending-regex": (f"was sent {signal.Signals(kill_timer.SIGNAL).name}", True),
    "leaves-as-if-it-could-not-start": ("exited with code 3", False),
    "leaves-as-if-it-could-not-load": ("exited with code 4", False),
    "crashes-in-c": ("was sent SIGSEGV", False),
    "is-killed-for-its-memory": ("was sent SIGKILL", False),
    "leaves": ("", False),
}
STUCK = {"sleeps-in-c", "swallows-every-timeout"}
LONG = {"swallows-every-timeout", "never-ending-regex"}


@pytest.mark.parametrize(
    ("deed", "end", "traceback"),
    [
        pytest.param(deed, *end, marks=pytest.mark.long if deed in LONG else (), id=deed)
        for deed, end in ENDS.items()
    ],
)
def test_the_worker_ends_and_is_replaced(running, deed, end, traceback):
    workers, place = running.children, running.log.stat().st_size
    with Others(running.port) as others:
        with pytest.raises((OSError, HTTPException)):
            ask(running.port, body=doing(deed))
        wait_for(lambda: len(running.children) == 2 and running.children != workers)
    assert len(running.children & workers) == 1, "the other worker works on"
    assert others.wrong == 0
    log = log_since(running, place)
    assert end in log
    if traceback:
        assert f"in {deed.replace('-', '_')}\n" in log
    if deed in STUCK:
        # The worker takes no more requests, and those it had are answered before it ends.
        assert f"rule {deed} of plugin misbehaving cannot be stopped" in log
        assert others.lost == 0
        assert others.slowest < 2.0
    else:
        assert others.lost <= 2, "more than what the worker had in hand"
    status, text = ask(running.port, body=json.dumps(PASSING).encode())
    assert (status, json.loads(text)["verdict"]) == (200, "pass")


def test_a_rule_that_loops_is_off_after_three_different_fittings(running):
    off = (
        f"The rule is off in this process for a while: it was too slow on {STRIKES} different "
        "fittings within 60 s."
    )
    late = f"The rule ran longer than {1000 * TIME_LIMIT:g} ms."
    told: list[str] = []
    # Each of two workers has strikes of its own, and on a busy machine some calls give none.
    while off not in told and len(told) < 40:
        body = {**PASSING, "arrow": {"length": q(30 + len(told) / 8)}, "detail": "verdict"}
        _, text = ask(running.port, body=doing("loops", body))
        answer = json.loads(text)
        assert answer["verdict"] == "indeterminate"
        told.append(answer["unevaluated"][0]["reason"])
    assert {*told} == {late, off}
    assert len(told) > STRIKES


@pytest.mark.long
def test_a_stopped_process_costs_no_strike(running):
    """A worker that is stopped in the middle of a rule goes on with it."""
    answers, before = [], running.children
    body = doing("takes-its-time", {**PASSING, "detail": "verdict"})
    caller = threading.Thread(target=lambda: answers.append(ask(running.port, body=body)))
    caller.start()
    time.sleep(0.1)
    for pid in before:
        os.kill(pid, signal.SIGSTOP)
    time.sleep(1.0)
    for pid in before:
        os.kill(pid, signal.SIGCONT)
    caller.join()
    ((status, text),) = answers
    assert (status, json.loads(text)["verdict"]) == (200, "pass")
    assert running.children == before


BAD_ITEMS = ["raises", "exits", "sets-a-floor-of-nan", "speaks-in-surrogates", "returns-text"]


def test_in_a_batch_it_costs_its_own_item_alone(running):
    items = [json.loads(doing(deed)) for deed in BAD_ITEMS]
    mixed = [one for item in items for one in (item, PASSING)]
    status, text = ask(running.port, "/v1/fit-check/batch", json.dumps({"items": mixed}).encode())
    assert status == 200
    results = [item["result"] for item in json.loads(text)["items"]]
    assert [one["verdict"] for one in results] == ["indeterminate", "pass"] * len(items)
    assert ["minimum" in one for one in results] == [False, True] * len(items)


def test_nothing_printed_came_to_a_caller_and_the_service_ends_as_told(running):
    status, text = ask(running.port, body=doing("prints"))
    assert status == 200
    assert b"HTTP/1.1" not in text
    wait_for(lambda: b"look at me" in running.log.read_bytes())
    assert running.end(signal.SIGTERM) == 0
