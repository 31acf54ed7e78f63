"""Reads /metrics of a service under test, and makes series of what was read."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import chain

from prometheus_client.parser import text_string_to_metric_families

from monitoring.alerting import FAULT_AT
from servers import ask

PLACE = {"job": "drawmark", "instance": "127.0.0.1:8000"}


def series(name: str, labels: Mapping[str, str]) -> str:
    pairs = (f"{label}={json.dumps(value)}" for label, value in (labels | PLACE).items())
    return f"{name}{{{', '.join(pairs)}}}"


@dataclass(frozen=True)
class Scrape:
    """What Prometheus stores of one reading: values by series, and which of them are counted."""

    values: dict[str, float]
    counted: frozenset[str] = field(default_factory=frozenset)
    names: frozenset[str] = field(default_factory=frozenset)


def scrape(port: int) -> Scrape:
    """Read a service's figures; where it does not answer, that is all there is to store."""
    try:
        status, text = ask(port, "/metrics", None)
        assert status == 200
    except OSError:
        return Scrape({series("up", {}): 0.0})
    families = list(text_string_to_metric_families(text.decode()))
    values = {
        series(one.name, one.labels): one.value for family in families for one in family.samples
    }
    counted = chain.from_iterable(
        (series(one.name, one.labels) for one in family.samples)
        for family in families
        if family.type in ("counter", "histogram")
    )
    return Scrape(values | {series("up", {}): 1.0}, frozenset(counted))


def history(started: Scrape, healthy: Scrape, before: Scrape, after: Scrape) -> dict[str, str]:
    """Make series: each minute what came between `started` and `healthy`, then `before` to `after`.

    Counts go on from `before`, and everything else keeps its value.
    """
    written = {}
    for key in {**before.values, **after.values}:
        first, last = before.values.get(key), after.values.get(key)
        counted = key in before.counted | after.counted
        grown = healthy.values.get(key, 0.0) - started.values.get(key, 0.0) if counted else 0.0
        head, tail = f"_x{FAULT_AT}", ""
        if first is not None:
            head = f"{first:.6f}+{grown:.6f}x{FAULT_AT - 1}"
        if last is not None:
            fault = last - (first or 0.0) if counted else 0.0
            begin = last + grown * (FAULT_AT - 1) if first is not None and counted else last
            tail = f" {begin:.6f}+{fault:.6f}x30"
        written[key] = head + tail
    return written
