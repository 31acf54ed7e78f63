"""Batches take half of the threads; of the rest all but one may wait for a slot."""

from __future__ import annotations

import threading

import pytest

from drawmark.web.batch.slots import ReleasingIterator, Slots


@pytest.mark.parametrize(("threads", "slots"), [(1, 1), (2, 1), (3, 1), (4, 2), (5, 2), (8, 4)])
def test_half_of_the_threads_but_at_least_one(threads, slots):
    taken = Slots(threads, wait=0.0)
    assert [taken.acquire() for _ in range(slots + 1)] == [True] * slots + [False]
    taken.release()
    assert taken.acquire()


def test_who_waits_gets_the_slot_that_is_released():
    slots = Slots(4, wait=10.0)
    assert slots.acquire()
    assert slots.acquire()
    got = []
    waiting = threading.Thread(target=lambda: got.append(slots.acquire()))
    waiting.start()
    slots.release()
    waiting.join(10)
    assert got == [True]


@pytest.mark.parametrize("threads", [1, 2])
def test_no_thread_waits_where_none_would_be_left(threads):
    slots = Slots(threads, wait=1000.0)
    assert slots.acquire()
    assert not slots.acquire()


class Ended:
    count = 0

    def __call__(self):
        self.count += 1


def breaks():
    yield b"1"
    raise ValueError


def test_a_slot_is_released_with_the_answer():
    ended = Ended()
    answer = ReleasingIterator(iter([b"1", b"2"]), ended)
    assert list(answer) == [b"1", b"2"]
    answer.close()
    assert ended.count == 1


def test_a_slot_is_released_where_nothing_was_read():
    ended = Ended()
    ReleasingIterator(iter([b"1"]), ended).close()
    assert ended.count == 1


def test_a_slot_is_released_where_the_answer_breaks():
    ended = Ended()
    with pytest.raises(ValueError):  # noqa: PT011
        list(ReleasingIterator(breaks(), ended))
    assert ended.count == 1
