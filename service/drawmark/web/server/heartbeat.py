"""A worker's sign of life, kept in memory: a folder could be full, read-only or gone."""

from __future__ import annotations

import os
from typing import Any

from gunicorn.workers import base
from gunicorn.workers.workertmp import WorkerTmp


class MemoryHeartbeat(WorkerTmp):  # type: ignore[misc]
    """A file without a place in any folder, whose time a worker sets again and again."""

    def __init__(self, cfg: Any) -> None:
        self._tmp = os.fdopen(os.memfd_create("heartbeat"), "w+b", buffering=0)


def use_memory_heartbeats(workers: Any = base) -> None:
    """Make gunicorn's workers use it, where the system can; gunicorn has no setting for that."""
    if hasattr(os, "memfd_create"):
        workers.WorkerTmp = MemoryHeartbeat
