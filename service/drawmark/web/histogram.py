"""Histograms of the shared counts: a place for each bucket, and one for the sum."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping
from itertools import accumulate
from typing import Final

from drawmark.web.shared_counts import Key, SharedCounts

Bounds = tuple[float, ...]
_SUM: Final = "sum"


class Histogram:
    """Where a histogram is counted."""

    def __init__(self, counts: SharedCounts, name: str, bounds: Bounds, *labels: str) -> None:
        self._bounds = bounds
        self._buckets = tuple(
            counts.place_of((name, str(place), *labels)) for place in range(len(bounds) + 1)
        )
        self._sum = counts.place_of((name, _SUM, *labels))

    def add(self, values: memoryview[float], value: float) -> None:
        """Add an observation."""
        values[self._buckets[bisect_left(self._bounds, value)]] += 1.0
        values[self._sum] += value


def histograms_in(
    totals: Mapping[Key, float], name: str, bounds: Bounds
) -> Iterator[tuple[Key, list[tuple[str, float]], float]]:
    """Give labels, buckets and sum of all histograms of a name."""
    for key in sorted(key for key in totals if key[:2] == (name, _SUM)):
        places = range(len(bounds) + 1)
        counts = accumulate(totals.get((name, str(place), *key[2:]), 0.0) for place in places)
        buckets = zip((*map(str, bounds), "+Inf"), counts, strict=True)
        yield key[2:], list(buckets), totals[key]
