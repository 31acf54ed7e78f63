"""Counts for Prometheus: requests, verdicts, calls of plugins' rules, and the service's state."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from functools import cache
from threading import local
from typing import Any, Final

from drawmark import __version__
from drawmark.rules.club_folder import Clubs
from drawmark.rules.guard import guard
from drawmark.rules.model import VERDICTS
from drawmark.rules.stated_rules import CLUB_FILE
from drawmark.web.histogram import Histogram, histograms_in
from drawmark.web.process_figures import memory_of, processor_time_of
from drawmark.web.shared_counts import Key, SharedCounts

MEDIA_TYPE: Final = "text/plain; version=0.0.4; charset=utf-8"
UNMATCHED: Final = "unmatched"
"""Stands for every path that does not exist."""
METHODS: Final = frozenset(("GET", "HEAD", "POST", "OPTIONS"))

_REQUESTS: Final = "drawmark_requests"
_SECONDS: Final = "drawmark_request_duration_seconds"
_BYTES: Final = "drawmark_request_body_bytes"
_TORN: Final = ("drawmark_streams_torn",)
_LOST: Final = ("drawmark_workers_lost",)
_VERDICTS: Final = "drawmark_verdicts"
_CALLS: Final = "drawmark_rule_calls"
_RULE_SECONDS: Final = "drawmark_rule_seconds"
_FAILURES: Final = "drawmark_rule_failures"
_IN_FLIGHT: Final = ("drawmark_requests_in_flight",)
_HEAVY: Final = ("drawmark_heavy_requests_in_flight",)
_PROCESS: Final = ("process",)
_OFF: Final = ("drawmark_rules_off",)
_MOMENTARY: Final = (_IN_FLIGHT, _HEAVY, _PROCESS, _OFF)
_STATED: Final = (CLUB_FILE, "")
"""Stands for the rules that any of several clubs states: there is no room for a label of each."""
_RULE: Final = ("plugin", "rule")
_COUNTERS: Final[dict[str, tuple[str, tuple[str, ...]]]] = {
    _REQUESTS: ("Requests answered; a batch is one.", ("route", "method", "status")),
    _TORN[0]: ("Streams that were cut off before their last line.", ()),
    _LOST[0]: ("Workers that ended without being told to: stuck, killed or crashed.", ()),
    _VERDICTS: ("Verdicts given; each item of a batch has one.", ("verdict",)),
    _CALLS: ("Calls of a plugin's rule.", _RULE),
    _RULE_SECONDS: ("Time spent in calls of a plugin's rule.", _RULE),
    _FAILURES: ("Calls of a plugin's rule without a usable answer.", (*_RULE, "reason")),
}
_HISTOGRAMS: Final[dict[str, tuple[str, tuple[str, ...], tuple[float, ...]]]] = {
    _SECONDS: (
        "Time until the answer was ready; for a stream, until it was sent.",
        ("route",),
        (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 20.0, 30.0),
    ),
    _BYTES: ("Size of a request's body.", (), tuple(4.0**power for power in range(5, 15))),
}


class _RequestCounts(local):
    """What plugins' rules did in the request of this thread."""

    def __init__(self) -> None:
        self.counts: dict[Key, float] = {}


class Metrics:
    """Counts of this process, and of the others that share its memory."""

    def __init__(self) -> None:
        self._counts = SharedCounts()
        self._find_places()
        self._request = _RequestCounts()
        self._state = ("", 0, False)
        self._clubs: Clubs | None = None
        self._first = os.getpid()

    def _find_places(self) -> None:
        self._in_flight = self._counts.place_of(_IN_FLIGHT)
        self._heavy = self._counts.place_of(_HEAVY)
        self._lost = self._counts.place_of(_LOST)
        self._sizes = Histogram(self._counts, _BYTES, _HISTOGRAMS[_BYTES][2])
        self._requests: dict[tuple[str, str, int], int] = {}
        self._durations: dict[str, Histogram] = {}
        self._verdicts: dict[str, int] = {
            one: self._counts.place_of((_VERDICTS, one)) for one in VERDICTS
        }

    def share(self, slots: int) -> None:
        """Share the counts with so many processes that are started from here on."""
        self._first = os.getpid()
        self._counts.share(1 + slots)
        self._counts.take(self._counts.reserve())
        self._find_places()

    def before_fork(self) -> int | None:
        """Set a slot aside for a process."""
        return self._counts.reserve()

    def after_fork(self, slot: int | None) -> None:
        """Count in a process that was started."""
        self._counts.take(slot)
        self._find_places()
        self._counts.add([(_PROCESS, os.getpid())])

    def after_exit(self, slot: int | None, lost: bool) -> None:
        """Keep the counts of a process that has ended; it is lost if nobody told it to."""
        if slot is not None:
            self._counts.release(slot, *_MOMENTARY)
        # A handler of signals may be what calls this, so it waits for no lock. In the first
        # process nothing else counts.
        self._counts.values[self._lost] += lost

    def begin_request(self) -> None:
        """Count a request that is under way."""
        counts = self._counts
        with counts.lock:
            counts.values[self._in_flight] += 1.0

    def change_heavy(self, change: float) -> None:
        """Count heavy requests that are under way."""
        counts = self._counts
        with counts.lock:
            counts.values[self._heavy] += change

    def end_request(
        self, route: str, method: str, status: int, seconds: float, size: int, torn: bool = False
    ) -> None:
        """Count a request, and what plugins' rules did for it."""
        try:
            requests = self._requests[route, method, status]
            durations = self._durations[route]
        except KeyError:
            key = (_REQUESTS, route, method, str(status))
            requests = self._requests[route, method, status] = self._counts.place_of(key)
            bounds = _HISTOGRAMS[_SECONDS][2]
            durations = Histogram(self._counts, _SECONDS, bounds, route)
            self._durations[route] = durations
        lock, values = self._counts.lock, self._counts.values
        with lock:
            values[self._in_flight] -= 1.0
            values[requests] += 1.0
            durations.add(values, seconds)
            self._sizes.add(values, size)
        rules = self._request.counts
        if torn or rules:
            self._counts.add([*rules.items(), (_TORN, float(torn))])
            rules.clear()

    def count_verdicts(self, verdicts: Mapping[str, int]) -> None:
        """Count verdicts, those of a batch together."""
        counts = self._counts
        with counts.lock:
            for verdict, number in verdicts.items():
                counts.values[self._verdicts[verdict]] += number

    def note_rule(self, key: tuple[str, str], seconds: float | None, failure: str) -> None:
        """Note a call of a plugin's rule; it is counted when the request ends."""
        counts, key = self._request.counts, self._label(key)
        if seconds is not None:
            for name, amount in ((_CALLS, 1.0), (_RULE_SECONDS, seconds)):
                counts[name, *key] = counts.get((name, *key), 0.0) + amount
        if failure:
            counts[_FAILURES, *key, failure] = counts.get((_FAILURES, *key, failure), 0.0) + 1.0

    def note_off(self, key: tuple[str, str], is_off: bool) -> None:
        """Count a rule that this process switched off, or tries again."""
        self._counts.add([((*_OFF, *self._label(key)), 1.0 if is_off else -1.0)])

    def _label(self, key: tuple[str, str]) -> tuple[str, str]:
        return _STATED if self._clubs is not None and key[0] == CLUB_FILE else key

    def rules_off(self) -> dict[tuple[str, str], int]:
        """Give the rules that are switched off, and in how many processes."""
        off = {
            key[1:]: int(number) for key, number in self._counts.totals().items() if key[:1] == _OFF
        }
        return {(plugin, rule): number for (plugin, rule), number in off.items() if number > 0}

    def set_state(
        self, revision: str, missing: int, stale: bool, clubs: Clubs | None = None
    ) -> None:
        """Publish what is in force; processes that are started later have it too."""
        self._state, self._clubs = (revision, missing, stale), clubs

    def render(self) -> bytes:
        """Give the counts of all processes in Prometheus' text format."""
        # Imported where it is used: it takes a while, and most processes are never asked.
        from prometheus_client import CollectorRegistry, generate_latest

        registry = CollectorRegistry(auto_describe=False)
        registry.register(self)
        return generate_latest(registry)

    def collect(self) -> Iterator[Any]:
        """Give each metric, as the library asks for them."""
        from prometheus_client import core

        totals = self._counts.totals()
        totals.setdefault(_TORN, 0.0)
        for name, (words, labels) in _COUNTERS.items():
            counter = core.CounterMetricFamily(name, words, labels=labels)
            for key in sorted(key for key in totals if key[0] == name):
                counter.add_metric(key[1:], totals[key])
            yield counter
        for name, (words, labels, bounds) in _HISTOGRAMS.items():
            histogram = core.HistogramMetricFamily(name, words, labels=labels)
            for key, buckets, total in histograms_in(totals, name, bounds):
                histogram.add_metric(key, buckets, total)
            yield histogram
        processes = [int(one) for one in self._counts.each(_PROCESS)]
        yield core.CounterMetricFamily(
            "drawmark_processor_seconds",
            "Processor time of all processes of the service.",
            value=processor_time_of(self._first, processes),
        )
        yield from self._gauges(totals, processes)

    def _gauges(self, totals: Mapping[Key, float], processes: list[int]) -> Iterator[Any]:
        from prometheus_client.core import GaugeMetricFamily

        revision, missing, stale = self._state
        labels = ("version", "revision")
        build = GaugeMetricFamily(
            "drawmark_build_info", "Version and revision of the service.", labels=labels
        )
        build.add_metric((__version__, revision), 1)
        yield build
        off = GaugeMetricFamily(
            _OFF[0],
            "Processes in which a rule is switched off for a while, since it was too slow.",
            labels=_RULE,
        )
        for rule, number in sorted(self.rules_off().items()):
            off.add_metric(rule, number)
        yield off
        if self._clubs is not None:
            yield _gauge_of_clubs(self._clubs)
        for name, words, value in (
            (
                "drawmark_configuration_stale",
                "1 if the last reload failed; what was in force before still is.",
                float(stale),
            ),
            ("drawmark_plugins_missing", "Plugins that are required and not active.", missing),
            (
                _IN_FLIGHT[0],
                "Requests under way; each keeps a thread busy.",
                totals.get(_IN_FLIGHT, 0.0),
            ),
            (
                _HEAVY[0],
                "Those of them that are heavy, whether they calculate or wait for a place.",
                totals.get(_HEAVY, 0.0),
            ),
            (
                "drawmark_memory_bytes",
                "Memory of all processes of the service, what they share counted once.",
                memory_of((self._first, *processes)),
            ),
        ):
            yield GaugeMetricFamily(name, words, value=value)


def _gauge_of_clubs(clubs: Clubs) -> Any:
    from prometheus_client.core import GaugeMetricFamily

    gauge = GaugeMetricFamily(
        "drawmark_clubs",
        "Clubs. Closed: their file has faults. Stale: so it has, and earlier rules hold. "
        "Waiting: a required plugin is missing.",
        labels=("state",),
    )
    for state, number in clubs.counts.items():
        gauge.add_metric((state,), number)
    return gauge


@cache
def metrics_of_process() -> Metrics:
    """Give the one Metrics of this process."""
    metrics = Metrics()
    guard.observer = metrics.note_rule
    guard.strikes.observer = metrics.note_off
    return metrics
