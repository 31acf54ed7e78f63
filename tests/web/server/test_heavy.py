"""Heavy requests take half of the threads together, those that wait for a place included."""

from __future__ import annotations

import threading

import pytest

from drawmark import deadline as deadline_module
from drawmark.deadline import CallerGone, DeadlinePassed, deadline
from drawmark.web import create_app
from drawmark.web.server import gateway as gateway_module
from drawmark.web.server.concurrency import HeavyLimit, Places
from drawmark.web.server.gateway import HEAVY, Gateway
from drawmark.web.settings import Settings
from drawmark.web.wire.callers import Callers
from drawmark.web.wire.installed_rules import core_rules

LIGHT = {"balance", "clicker", "fit-check", "longest-draw", "minimum-length", "recommended-length"}


def begin(limit, seconds=0.0):
    """Take a thread, and calculate; tell whether that is possible, and give what was taken."""
    places = Places()
    return places.take(limit) and places.resume(seconds), places


@pytest.mark.parametrize(
    ("threads", "most"), [(1, 1), (2, 1), (4, 1), (8, 1), (15, 1), (16, 2), (64, 8)]
)
def test_an_eighth_of_the_threads_but_at_least_one_calculates(threads, most):
    limit = HeavyLimit(threads)
    begun = [begin(limit) for _ in range(most + 1)]
    assert [could for could, _ in begun] == [True] * most + [False]
    for _, places in begun[-2:]:
        places.release()
    assert begin(limit)[0]


@pytest.mark.parametrize(("threads", "most"), [(1, 1), (2, 1), (4, 2), (8, 4), (9, 4)])
def test_those_that_calculate_and_those_that_wait_take_half_of_the_threads(threads, most):
    limit = HeavyLimit(threads)
    taken = [Places() for _ in range(threads)]
    assert [one.take(limit) for one in taken] == [True] * most + [False] * (threads - most)
    assert taken[0].resume(0.0)
    assert not any(one.resume(0.0) for one in taken[1:most])
    for _ in range(2):
        taken[0].release()
    assert [Places().take(limit) for _ in range(2)] == [True, False]


def test_who_waits_gets_the_place_that_is_released():
    limit = HeavyLimit(4)
    _, first = begin(limit)
    got = []
    waiting = threading.Thread(target=lambda: got.append(begin(limit, 10.0)[0]))
    waiting.start()
    first.release()
    waiting.join(10)
    assert got == [True]


def test_every_operation_is_either_heavy_or_a_single_check():
    app = create_app(rules=core_rules())
    asked = {rule.rule for rule in app.url_map.iter_rules() if "POST" in (rule.methods or ())}
    assert asked == HEAVY | {f"/v1/{path}" for path in LIGHT}


class Answer:
    """A stream, of which a test decides what becomes of it."""

    def __init__(self, pieces):
        self.pieces, self.closed = pieces, 0

    def __iter__(self):
        for piece in self.pieces:
            if isinstance(piece, type):
                raise piece
            yield piece

    def close(self):
        self.closed += 1


def heavy(*pieces, threads=1):
    """A gateway with one place, and what a heavy request in it gets."""
    answer = Answer(pieces)

    def inner(environ, start_response):
        sends = environ.get("sends")
        if sends:
            deadline.await_body(stands_still=sends == "half")
        else:
            deadline.restart()
        start_response("200 OK", [])
        return answer

    gateway = Gateway(inner, Settings(threads=threads), Callers(core_rules()))
    return gateway, answer, ask(gateway)[1]


def ask(gateway, path="/v1/fit-check/batch", **more):
    started = []
    environ = {"PATH_INFO": path, "REQUEST_METHOD": "POST", **more}
    body = gateway(environ, lambda *given: started.append(given))
    return started[0][0][:3], body


def test_a_whole_answer_gives_its_place_back_as_soon_as_it_is_ready():
    client = create_app(Settings(threads=1), core_rules()).test_client()
    asked = [client.post("/v1/order", json={}) for _ in range(3)]
    assert [one.status_code for one in asked] == [422] * 3


def test_a_stream_holds_its_place_until_it_is_sent():
    gateway, answer, body = heavy(b"1", b"2")
    pieces = iter(body)
    assert next(pieces) == b"1"
    assert ask(gateway)[0] == "503"
    assert ask(gateway, "/v1/fit-check")[0] == "200"
    assert list(pieces) == [b"2"]
    assert answer.closed == 1
    assert ask(gateway)[0] == "200"


def test_others_calculate_while_callers_read_and_no_more_at_once_than_before():
    """Of eight threads four are for heavy requests, and one of them calculates."""
    gateway, _, first = heavy(b"1", b"2", threads=8)
    begun = [iter(first)]
    assert next(begun[0]) == b"1"
    for _ in range(3):
        status, body = ask(gateway)
        assert status == "200"
        begun.append(iter(body))
        assert next(begun[-1]) == b"1"
    # Each of the four has a thread.
    assert ask(gateway)[0] == "503"
    assert [list(one) for one in begun] == [[b"2"]] * 4
    # The one place for those that calculate is there, and only once.
    held = ask(gateway)[1]
    assert ask(gateway)[0] == "503"
    held.close()
    assert ask(gateway)[0] == "200"


@pytest.mark.parametrize(
    ("sends", "slow", "others"),
    [("half", 60.0, "200"), ("slowly", 0.0, "200"), ("all", 60.0, "503")],
)
def test_others_calculate_while_a_body_takes_long_to_arrive(monkeypatch, sends, slow, others):
    monkeypatch.setattr(deadline_module, "SLOW_BODY", slow)
    gateway, _, first = heavy(b"1", threads=8)
    first.close()
    sending = ask(gateway, sends=sends)
    assert sending[0] == "200"
    assert ask(gateway)[0] == others


def test_those_whose_bodies_arrive_keep_their_threads():
    gateway, _, first = heavy(b"1", threads=8)
    first.close()
    held = [ask(gateway, sends="half")[1] for _ in range(3)]
    held.append(ask(gateway)[1])
    # Each of the four has a thread.
    assert ask(gateway)[0] == "503"
    for one in held:
        one.close()
    assert ask(gateway)[0] == "200"


def test_a_stream_goes_on_when_it_has_a_place_again():
    gateway, _, body = heavy(b"1", b"2", threads=8)
    pieces = iter(body)
    next(pieces)
    other = ask(gateway)[1]
    releasing = threading.Timer(0.2, other.close)
    releasing.start()
    assert list(pieces) == [b"2"]
    releasing.join()
    assert ask(gateway)[0] == "200"


def test_a_stream_is_cut_off_where_no_place_gets_free(monkeypatch):
    gateway, answer, body = heavy(b"1", b"2", threads=8)
    pieces = iter(body)
    next(pieces)
    other = ask(gateway)[1]
    monkeypatch.setattr(gateway_module, "SLOWEST_READING", 0.0)
    with pytest.raises(DeadlinePassed):
        next(pieces)
    assert answer.closed == 1
    other.close()
    held = [ask(gateway)[0] for _ in range(2)]
    assert held == ["200", "503"]


@pytest.mark.parametrize("pieces", [(b"1",), (ValueError,)], ids=["unread", "broken"])
def test_a_place_is_given_back_where_a_stream_is_not_read(pieces):
    gateway, _, body = heavy(*pieces)
    if ValueError in pieces:
        with pytest.raises(ValueError):  # noqa: PT011
            list(body)
    body.close()
    body.close()
    assert ask(gateway)[0] == "200"
    assert ask(gateway)[0] == "503"


def test_a_stream_that_is_read_too_slowly_gives_its_place_back(monkeypatch):
    monkeypatch.setattr(gateway_module, "SLOWEST_READING", 0.0)
    gateway, answer, body = heavy(b"1", b"2", b"3")
    with pytest.raises(CallerGone):
        list(body)
    assert answer.closed == 1
    assert ask(gateway)[0] == "200"
