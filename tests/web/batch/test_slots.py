"""Batches take half of the threads; of the rest all but one may wait for a turn."""

from __future__ import annotations

import threading

import pytest

from drawmark.web.batch.slots import InTurn, Turns


@pytest.mark.parametrize(("threads", "turns"), [(1, 1), (2, 1), (3, 1), (4, 2), (5, 2), (8, 4)])
def test_half_of_the_threads_but_at_least_one(threads, turns):
    taken = Turns(threads, wait=0.0)
    assert [taken.take() for _ in range(turns + 1)] == [True] * turns + [False]
    taken.give_back()
    assert taken.take()


def test_who_waits_gets_the_turn_that_is_given_back():
    turns = Turns(4, wait=10.0)
    assert turns.take()
    assert turns.take()
    got = []
    waiting = threading.Thread(target=lambda: got.append(turns.take()))
    waiting.start()
    turns.give_back()
    waiting.join(10)
    assert got == [True]


@pytest.mark.parametrize("threads", [1, 2])
def test_no_thread_waits_where_none_would_be_left(threads):
    turns = Turns(threads, wait=1000.0)
    assert turns.take()
    assert not turns.take()


class Ended:
    count = 0

    def __call__(self):
        self.count += 1


def breaks():
    yield b"1"
    raise ValueError


def test_a_turn_ends_with_the_answer():
    ended = Ended()
    answer = InTurn(iter([b"1", b"2"]), ended)
    assert list(answer) == [b"1", b"2"]
    answer.close()
    assert ended.count == 1


def test_a_turn_ends_where_nothing_was_read():
    ended = Ended()
    InTurn(iter([b"1"]), ended).close()
    assert ended.count == 1


def test_a_turn_ends_where_the_answer_breaks():
    ended = Ended()
    with pytest.raises(ValueError):  # noqa: PT011
        list(InTurn(breaks(), ended))
    assert ended.count == 1
