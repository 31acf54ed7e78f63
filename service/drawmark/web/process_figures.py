"""Memory and processor time of a service's processes, where /proc tells them."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

_PROC = Path("/proc")


def memory_of(processes: Iterable[int]) -> float:
    """Memory of some processes, what they share counted once [byte]."""
    return sum(map(_memory_of, processes))


def processor_time_of(first: int, workers: Iterable[int]) -> float:
    """Processor time of the first process, its workers and those that have ended [s]."""
    ticks = sum(_times_of(first)) + sum(sum(_times_of(worker)[:2]) for worker in workers)
    return ticks / os.sysconf("SC_CLK_TCK")


def _memory_of(process: int) -> int:
    try:
        lines = (_PROC / str(process) / "smaps_rollup").read_text().splitlines()
    except OSError:
        return 0
    return 1024 * sum(int(line.split()[1]) for line in lines if line.startswith("Pss:"))


def _times_of(process: int) -> list[int]:
    """Own user and system time, and those of the children that have ended [tick]."""
    try:
        status = (_PROC / str(process) / "stat").read_text()
    except OSError:
        return [0, 0, 0, 0]
    # The program's name, in parentheses, may hold blanks.
    return [int(field) for field in status.rpartition(")")[2].split()[11:15]]
