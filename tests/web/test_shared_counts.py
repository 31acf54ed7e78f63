"""Counts in memory that processes share: none is lost when a process ends."""

from __future__ import annotations

import os
import threading

import pytest

from drawmark.web import shared_counts
from drawmark.web.shared_counts import SharedCounts

HITS, MISSES, NOW = ("hits", "a"), ("hits", "b"), ("now",)


@pytest.fixture
def counts():
    shared = SharedCounts()
    shared.share(2)
    return shared


def in_child(work):
    """Do something in a process of its own, which then ends without a word."""
    child = os.fork()
    if child == 0:
        try:
            work()
        finally:
            os._exit(0)
    os.waitpid(child, 0)


def counting(counts, slot, *added):
    def work():
        counts.take(slot)
        counts.add(added)

    in_child(work)


def test_a_process_alone_counts_for_itself():
    counts = SharedCounts()
    counts.add([(HITS, 1.0), (MISSES, 2.0), (HITS, 0.5)])
    assert counts.totals() == {HITS: 1.5, MISSES: 2.0}


def test_those_that_ended_are_counted_and_go_on_in_their_slot(counts):
    first, second = counts.reserve(), counts.reserve()
    counting(counts, first, (HITS, 1.0), (NOW, 7.0))
    counting(counts, second, (MISSES, 2.0), (HITS, 10.0))
    assert counts.totals() == {HITS: 11.0, MISSES: 2.0, NOW: 7.0}
    assert counts.each(HITS) == [1.0, 10.0]
    counts.release(first, NOW)
    assert counts.totals() == {HITS: 11.0, MISSES: 2.0, NOW: 0.0}
    assert counts.reserve() == first
    counting(counts, first, (MISSES, 1.0), (HITS, 100.0))
    assert counts.totals() == {HITS: 111.0, MISSES: 3.0, NOW: 0.0}


def test_a_process_for_which_there_is_no_slot_counts_in_vain(counts):
    assert [counts.reserve() for _ in range(3)] == [0, 1, None]
    counting(counts, None, (HITS, 1.0))
    assert counts.totals() == {}


def test_more_keys_than_there_is_room_for_cost_their_own_counts(counts, monkeypatch):
    monkeypatch.setattr(shared_counts, "MOST_KEYS", 2)
    counts.take(0)
    counts.add([(HITS, 1.0), (MISSES, 1.0), (NOW, 1.0), (("x" * 1000,), 1.0), (HITS, 1.0)])
    assert counts.totals() == {HITS: 2.0, MISSES: 1.0}


def test_threads_lose_nothing(counts):
    counts.take(0)
    threads = [
        threading.Thread(target=lambda: [counts.add([(HITS, 1.0)]) for _ in range(2000)])
        for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert counts.totals() == {HITS: 8000.0}
