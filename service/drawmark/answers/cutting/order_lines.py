"""Lines of an order sheet: shafts alike in name, kind, stock and length, counted together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from drawmark.fitting import limits
from drawmark.fitting.model import Shaft


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """Shafts of one name and length.

    Parameters
    ----------
    shaft : str
        Name of the shaft.
    kind : Shaft or None
        What is known of it.
    stock : float
        Length as it is delivered [m].
    length : float
        Arrow length: bottom of the nock slot to the shaft's front end [m].
    tube : float
        Length of the tube: the arrow length less the nock's projection [m].
    uncut : bool
        True where it stays as it is delivered.
    count : int
        Number of shafts.
    sets : tuple of str
        Whose they are.
    """

    shaft: str
    kind: Shaft | None
    stock: float
    length: float
    tube: float
    uncut: bool
    count: int
    sets: tuple[str, ...]

    def is_like(self, other: Line) -> bool:
        """Tell whether another line's shafts can be cut together with these."""
        return (
            self.shaft == other.shaft
            and self.kind == other.kind
            and self.uncut == other.uncut
            and _same(self.stock, other.stock)
            and _same(self.length, other.length)
            and _same(self.tube, other.tube)
        )


def _same(one: float, other: float) -> bool:
    return not (limits.shorter(one, other) or limits.longer(one, other))


def group(lines: Iterable[Line]) -> tuple[Line, ...]:
    """Count lines together that can be cut together."""
    found: list[Line] = []
    for line in sorted(lines, key=lambda one: (one.shaft, one.uncut, -one.length, one.stock)):
        place = next((at for at, one in enumerate(found) if one.is_like(line)), None)
        if place is None:
            found.append(line)
            continue
        one = found[place]
        found[place] = replace(
            one,
            # The longer of two that are the same within the tolerance: no floor is lost.
            length=max(one.length, line.length),
            tube=max(one.tube, line.tube),
            count=one.count + line.count,
            sets=tuple(dict.fromkeys((*one.sets, *line.sets))),
        )
    return tuple(found)
