"""Counts for Prometheus: requests, verdicts, calls of plugins' rules, and the service's state."""

from __future__ import annotations

import os
from collections.abc import Mapping
from functools import cache, partial
from threading import local
from typing import Final

from drawmark import __version__
from drawmark.rules.guard import guard
from drawmark.rules.model import VERDICTS
from drawmark.web import metric_files

MEDIA_TYPE: Final = "text/plain; version=0.0.4; charset=utf-8"
UNMATCHED: Final = "unmatched"
"""Stands for every path that does not exist."""
METHODS: Final = frozenset(("GET", "HEAD", "POST", "OPTIONS"))
_SECONDS: Final = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)

Key = tuple[str, str]


class _RequestCounts(local):
    """What plugins' rules did in the request of this thread."""

    def __init__(self) -> None:
        self.calls: dict[Key, tuple[int, float]] = {}
        self.failures: dict[tuple[str, str, str], int] = {}


class Metrics:
    """Counts of this process, and of the others that share its directory."""

    def __init__(self) -> None:
        # Imported late: when it is first imported, this library decides whether processes share.
        import prometheus_client as prometheus

        registry = self._registry = prometheus.CollectorRegistry()
        counter = partial(prometheus.Counter, registry=registry)
        # Only the first process sets these; workers hold zeros, and the greatest value counts.
        gauge = partial(prometheus.Gauge, registry=registry, multiprocess_mode="livemax")
        requests = counter(
            "drawmark_requests",
            "Requests answered; a batch is one.",
            ("route", "method", "status"),
        )
        durations = prometheus.Histogram(
            "drawmark_request_duration_seconds",
            "Time until the answer was ready; for a stream, until it was sent.",
            ("route",),
            buckets=_SECONDS,
            registry=registry,
        )
        verdicts = counter(
            "drawmark_verdicts", "Verdicts given; each item of a batch has one.", ("verdict",)
        )
        calls = counter("drawmark_rule_calls", "Calls of a plugin's rule.", ("plugin", "rule"))
        seconds = counter(
            "drawmark_rule_seconds", "Time spent in calls of a plugin's rule.", ("plugin", "rule")
        )
        failures = counter(
            "drawmark_rule_failures",
            "Calls of a plugin's rule without a usable answer.",
            ("plugin", "rule", "reason"),
        )
        self._build = gauge(
            "drawmark_build_info", "Version and revision of the service.", ("version", "revision")
        )
        self._stale = gauge(
            "drawmark_configuration_stale",
            "1 if the last reload failed; what was in force before still is.",
        )
        self._missing = gauge(
            "drawmark_plugins_missing", "Plugins that are required and not active."
        )
        # The library takes a lock each time it looks labels up.
        self._requests_of = cache(requests.labels)
        self._durations_of = cache(durations.labels)
        self._calls_of = cache(calls.labels)
        self._seconds_of = cache(seconds.labels)
        self._failures_of = cache(failures.labels)
        self._verdicts_of = cache(verdicts.labels)
        for verdict in VERDICTS:
            # Each is there from the start, at 0.
            self._verdicts_of(verdict)
        self._request = _RequestCounts()

    def count_request(self, route: str, method: str, status: int, seconds: float) -> None:
        """Count a request, and what plugins' rules did for it."""
        self._requests_of(route, method, status).inc()
        self._durations_of(route).observe(seconds)
        request = self._request
        if request.calls or request.failures:
            for key, (calls, taken) in request.calls.items():
                self._calls_of(*key).inc(calls)
                self._seconds_of(*key).inc(taken)
            for failure, number in request.failures.items():
                self._failures_of(*failure).inc(number)
            request.calls.clear()
            request.failures.clear()

    def count_verdicts(self, verdicts: Mapping[str, int]) -> None:
        """Count verdicts, those of a batch together."""
        for verdict, number in verdicts.items():
            self._verdicts_of(verdict).inc(number)

    def note_rule(self, key: Key, seconds: float | None, failure: str) -> None:
        """Note a call of a plugin's rule; it is counted when the request ends."""
        request = self._request
        if seconds is not None:
            calls, taken = request.calls.get(key, (0, 0.0))
            request.calls[key] = (calls + 1, taken + seconds)
        if failure:
            reason = (*key, failure)
            request.failures[reason] = request.failures.get(reason, 0) + 1

    def set_state(self, revision: str, missing: int, stale: bool) -> None:
        """Publish what is in force; called in the first process only."""
        self._build.labels(__version__, revision).set(1)
        self._missing.set(missing)
        self._stale.set(stale)

    def render(self) -> bytes:
        """Give the counts of all processes in Prometheus' text format."""
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
    """Give the one Metrics of this process."""
    metrics = Metrics()
    guard.observer = metrics.note_rule
    return metrics
