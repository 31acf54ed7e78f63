"""Faults of a fitting, for which it cannot be computed."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from drawmark.fitting.columns import Truth


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """Fields of a request that contradict each other.

    Parameters
    ----------
    path : tuple of str or int
        Way to the field, from the top of the fitting.
    detail : str
        What is wrong and what would be right.
    when : bool or mask
        Where in a column it is wrong; the others can be computed without those.
    """

    path: tuple[str | int, ...]
    detail: str
    when: Truth = dataclasses.field(default=True, compare=False)


class FittingError(ValueError):
    """Raised where a fitting cannot be computed; carries its faults."""

    def __init__(self, *faults: Fault) -> None:
        super().__init__("; ".join(f"{'.'.join(map(str, f.path))}: {f.detail}" for f in faults))
        self.faults = faults
