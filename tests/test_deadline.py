"""The deadline of a request: looked at between slices of work, in the thread of the request."""

from __future__ import annotations

import math
import socket
import threading
import time

import numpy as np
import pytest

from drawmark import deadline as module
from drawmark.deadline import CallerGone, DeadlinePassed, WorkAbandoned, deadline
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules


@pytest.fixture(scope="module")
def hurried():
    """An application whose requests have no time."""
    return create_app(Settings(deadline=0), core_rules()).test_client()


@pytest.fixture(autouse=True)
def over():
    yield
    deadline.end()


def test_work_without_a_deadline_takes_what_it_takes():
    deadline.check()
    assert deadline.end() == math.inf


def test_it_ends_work_in_its_own_thread_alone():
    deadline.begin(0.0)
    with pytest.raises(DeadlinePassed):
        deadline.check()
    others = []
    thread = threading.Thread(target=lambda: others.append(deadline.check()))
    thread.start()
    thread.join()
    assert others == [None]


def test_time_that_was_left_can_be_given_again():
    deadline.begin(60.0)
    deadline.check()
    assert 59.0 < deadline.end() <= 60.0
    deadline.check()


def work_in_moments(seconds, between):
    """Work in Python, with calls of C that give the interpreter's lock back for a moment."""
    column, end = np.arange(1000.0), time.monotonic() + seconds
    while time.monotonic() < end:
        column.searchsorted(3.0)
        sum(range(4000))
        between()


def longest_wait(work):
    """How long another thread, which has next to nothing to do, waits for its turn [s]."""
    waits, over = [], threading.Event()

    def wait():
        while not over.is_set():
            begun = time.monotonic()
            time.sleep(0.001)
            waits.append(time.monotonic() - begun)

    thread = threading.Thread(target=wait)
    thread.start()
    work()
    over.set()
    thread.join()
    return max(waits)


def test_others_have_their_turn():
    deadline.begin(60.0)
    # A busy machine keeps them waiting too, so one quiet try is enough.
    waits = (longest_wait(lambda: work_in_moments(0.7, deadline.check)) for _ in range(3))
    assert any(wait < 0.1 for wait in waits)


def test_nothing_that_goes_on_after_faults_catches_it():
    assert not issubclass(WorkAbandoned, Exception)


@pytest.mark.parametrize("leave", ["close", "shutdown"])
def test_a_caller_that_has_gone_ends_the_work(monkeypatch, leave):
    monkeypatch.setattr(module, "LOOK_EVERY", 0.0)
    monkeypatch.setattr(module, "TURN_EVERY", 0.0)
    here, caller = socket.socketpair()
    with here, caller:
        deadline.begin(60.0, here)
        caller.sendall(b"more")
        deadline.check()
        caller.close() if leave == "close" else caller.shutdown(socket.SHUT_WR)
        with pytest.raises(CallerGone):
            deadline.check()


@pytest.mark.parametrize(
    "path",
    ["cut-plan", "fit-check", "kit/assignments", "kit/labels", "kit/lengths", "order"],
)
def test_an_operation_ends_at_its_deadline(hurried, ask, path):
    answer = hurried.post(f"/v1/{path}", json=EXAMPLES[path])
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "1")
    assert answer.mimetype == "application/problem+json"
    assert "took longer than 0 s" in answer.get_json()["detail"]
    # It holds for that request alone.
    assert ask(path, EXAMPLES[path])[0] == 200


@pytest.mark.parametrize("size", [1, 20], ids=["one by one", "in columns"])
def test_a_batch_ends_at_its_deadline_with_nothing_half_done(hurried, size):
    answer = hurried.post("/v1/fit-check/batch", json={"items": [EXAMPLES["fit-check"]] * size})
    assert answer.status_code == 503
    assert "items" not in answer.get_json()


def test_a_slow_body_is_no_work():
    deadline.begin(0.05)
    try:
        time.sleep(0.06)
        deadline.restart()
        deadline.check()
        time.sleep(0.06)
        with pytest.raises(DeadlinePassed):
            deadline.check()
    finally:
        deadline.end()
