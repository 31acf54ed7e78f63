"""What is counted, for Prometheus: requests, verdicts, plugins' rules, and what is in force."""

from __future__ import annotations

import os
from collections.abc import Mapping
from functools import cache
from threading import local
from typing import TYPE_CHECKING, Any, Final

from drawmark import __version__
from drawmark.rules.guard import guard
from drawmark.rules.model import VERDICTS
from drawmark.web import metric_files

if TYPE_CHECKING:
    from prometheus_client import Counter

MEDIA_TYPE: Final = "text/plain; version=0.0.4; charset=utf-8"
UNMATCHED: Final = "unmatched"
"""Stands for every path that there is not."""
METHODS: Final = frozenset(("GET", "HEAD", "POST", "OPTIONS"))
_SECONDS: Final = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)

Key = tuple[str, str]


class _Told(local):
    """What the rules of plugins did in the request of this thread."""

    def __init__(self) -> None:
        self.rules: dict[Key, list[float]] = {}
        self.failures: dict[tuple[str, str, str], int] = {}


class Metrics:
    """What is counted in this process, and in its fellows where a directory is shared."""

    def __init__(self) -> None:
        # Only now: whether processes share is settled when this library is first imported.
        import prometheus_client as prometheus

        registry = self._registry = prometheus.CollectorRegistry()
        self._requests: Counter = prometheus.Counter(
            "drawmark_requests",
            "Requests answered, a batch being one.",
            ("route", "method", "status"),
            registry=registry,
        )
        self._durations = prometheus.Histogram(
            "drawmark_request_duration_seconds",
            "Time until the answer was ready, or for a stream until it had been sent.",
            ("route",),
            buckets=_SECONDS,
            registry=registry,
        )
        verdicts = prometheus.Counter(
            "drawmark_verdicts",
            "Verdicts given, each item of a batch having one.",
            ("verdict",),
            registry=registry,
        )
        self._verdicts: dict[str, Counter] = {name: verdicts.labels(name) for name in VERDICTS}
        self._calls: Counter = prometheus.Counter(
            "drawmark_rule_calls",
            "Calls of a plugin's rule.",
            ("plugin", "rule"),
            registry=registry,
        )
        self._seconds: Counter = prometheus.Counter(
            "drawmark_rule_seconds",
            "Time that the calls of a plugin's rule took.",
            ("plugin", "rule"),
            registry=registry,
        )
        self._failures: Counter = prometheus.Counter(
            "drawmark_rule_failures",
            "Calls of a plugin's rule that gave no answer that can be used.",
            ("plugin", "rule", "reason"),
            registry=registry,
        )
        # Written by the process that starts the others; theirs hold zeros, and the greatest counts.
        self._build = prometheus.Gauge(
            "drawmark_build_info",
            "Version and revision of the service.",
            ("version", "revision"),
            multiprocess_mode="livemax",
            registry=registry,
        )
        self._stale = prometheus.Gauge(
            "drawmark_configuration_stale",
            "1 where what was read last could not be used, and what was in force still is.",
            multiprocess_mode="livemax",
            registry=registry,
        )
        self._missing = prometheus.Gauge(
            "drawmark_plugins_missing",
            "Plugins that are required and not active.",
            multiprocess_mode="livemax",
            registry=registry,
        )
        self._known: dict[tuple[str, str, int], Any] = {}
        self._timed: dict[str, Any] = {}
        self._ruled: dict[Key, tuple[Any, Any]] = {}
        self._told = _Told()

    def count_request(self, route: str, method: str, status: int, seconds: float) -> None:
        """Count a request, and what the rules of plugins did for it."""
        key = (route, method, status)
        counter = self._known.get(key)
        if counter is None:
            counter = self._known[key] = self._requests.labels(route, method, str(status))
        counter.inc()
        timer = self._timed.get(route)
        if timer is None:
            timer = self._timed[route] = self._durations.labels(route)
        timer.observe(seconds)
        if self._told.rules or self._told.failures:
            self._count_rules()

    def _count_rules(self) -> None:
        told = self._told
        for key, (calls, seconds) in told.rules.items():
            counters = self._ruled.get(key)
            if counters is None:
                counters = self._calls.labels(*key), self._seconds.labels(*key)
                self._ruled[key] = counters
            counters[0].inc(calls)
            counters[1].inc(seconds)
        told.rules.clear()
        for kind, number in told.failures.items():
            self._failures.labels(*kind).inc(number)
        told.failures.clear()

    def count_verdicts(self, verdicts: Mapping[str, int]) -> None:
        """Count verdicts, all of a batch in one go."""
        for verdict, number in verdicts.items():
            self._verdicts[verdict].inc(number)

    def note_rule(self, key: Key, seconds: float | None, failure: str) -> None:
        """Keep what a plugin's rule did; it is counted with the request, once for each rule."""
        told = self._told
        if seconds is not None:
            taken = told.rules.get(key)
            if taken is None:
                told.rules[key] = [1, seconds]
            else:
                taken[0] += 1
                taken[1] += seconds
        if failure:
            kind = (*key, failure)
            told.failures[kind] = told.failures.get(kind, 0) + 1

    def state(self, revision: str, missing: int, stale: bool) -> None:
        """State what is in force; for the process that starts the others."""
        self._build.labels(__version__, revision).set(1)
        self._missing.set(missing)
        self._stale.set(stale)

    def write(self) -> bytes:
        """Write everything down, that of the other processes too."""
        import prometheus_client as prometheus
        from prometheus_client import multiprocess

        directory = os.environ.get(metric_files.VARIABLE)
        if directory is None:
            return prometheus.generate_latest(self._registry)
        shared = prometheus.CollectorRegistry()
        multiprocess.MultiProcessCollector(shared, directory)  # type: ignore[no-untyped-call]
        with metric_files.reading(directory):
            return prometheus.generate_latest(shared)


@cache
def metrics_of_process() -> Metrics:
    """Give what is counted in this process, whichever application counts."""
    metrics = Metrics()
    guard.observer = metrics.note_rule
    return metrics
