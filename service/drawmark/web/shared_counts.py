"""Counts of all processes of a service, in memory that they share.

The first process maps the memory before it starts workers; no file system can fill it, empty it
or take it away. Each worker counts in a slot of its own. Whoever gets the slot of one that ended
goes on from its counts, so nothing has to be added up, and nothing is lost when one is killed.
"""

from __future__ import annotations

import mmap
import threading
from collections.abc import Iterable, Iterator
from typing import Final

import msgspec

Key = tuple[str, ...]
"""Name of a metric, and the values of its labels."""

MOST_KEYS: Final = 5000
"""Keys of a slot; counts of any beyond are lost."""
_NUMBER_SIZE: Final = 8
_NAME_SIZE: Final = 256
_NAMES_AT: Final = (1 + MOST_KEYS + 1) * _NUMBER_SIZE
_SLOT_SIZE: Final = -(-(_NAMES_AT + MOST_KEYS * _NAME_SIZE) // mmap.PAGESIZE) * mmap.PAGESIZE
_decode: Final = msgspec.json.Decoder(Key).decode


class _Slot:
    """Keys and their counts; the number of keys comes first and is written last."""

    def __init__(self, memory: memoryview) -> None:
        self._numbers = memory[:_NAMES_AT].cast("d")
        self._names = memory[_NAMES_AT:]
        self.values = self._numbers[1:]

    def keys(self) -> list[Key]:
        """Give the keys, in the order of their counts."""
        count = int(self._numbers[0])
        starts = range(0, count * _NAME_SIZE, _NAME_SIZE)
        return [_decode(bytes(self._names[at : at + _NAME_SIZE]).rstrip(b"\0")) for at in starts]

    def counts(self) -> Iterator[tuple[Key, float]]:
        """Give each key with its count."""
        return zip(self.keys(), self.values, strict=False)

    def register(self, key: Key) -> int:
        """Give a new key a place; one that nobody reads where there is none left."""
        place, name = int(self._numbers[0]), msgspec.json.encode(key)
        if place == MOST_KEYS or len(name) > _NAME_SIZE:
            return MOST_KEYS
        start = place * _NAME_SIZE
        self._names[start : start + len(name)] = name
        self._numbers[0] = place + 1
        return place


class SharedCounts:
    """The counts of this process, and those of the others."""

    def __init__(self) -> None:
        self.share(1)
        self.take(0)

    def share(self, slots: int) -> None:
        """Map memory for so many processes; called before they are started."""
        memory = memoryview(mmap.mmap(-1, slots * _SLOT_SIZE))
        self._slots = [
            _Slot(memory[at : at + _SLOT_SIZE]) for at in range(0, len(memory), _SLOT_SIZE)
        ]
        self._free = set(range(slots))

    def reserve(self) -> int | None:
        """Set a slot aside for a process that is about to start; None if none is free."""
        slot = min(self._free, default=None)
        self._free.discard(slot)
        return slot

    def take(self, slot: int | None) -> None:
        """Count in a slot from here on; None for one that nobody reads."""
        own = _Slot(memoryview(bytearray(_SLOT_SIZE))) if slot is None else self._slots[slot]
        self.lock = threading.Lock()
        self.values = own.values
        """Counts of this process, by place; whoever changes one holds `lock`."""
        self._own = own
        self._places = {key: place for place, key in enumerate(own.keys())}

    def release(self, slot: int, *momentary: Key) -> None:
        """Let another process have a slot; what the ended one held only for the moment is 0.

        `momentary` are first words of keys.
        """
        for place, key in enumerate(self._slots[slot].keys()):
            if key[:1] in momentary:
                self._slots[slot].values[place] = 0.0
        self._free.add(slot)

    def place_of(self, key: Key) -> int:
        """Give the place of a count in this process."""
        place = self._places.get(key)
        if place is None:
            with self.lock:
                place = self._places.get(key)
                if place is None:
                    place = self._places[key] = self._own.register(key)
        return place

    def add(self, counts: Iterable[tuple[Key, float]]) -> None:
        """Add to some counts."""
        for key, amount in counts:
            place = self.place_of(key)
            with self.lock:
                self.values[place] += amount

    def each(self, key: Key) -> list[float]:
        """Give a count of each process that has it and is not 0."""
        found = [value for slot in self._slots for name, value in slot.counts() if name == key]
        return [value for value in found if value]

    def totals(self) -> dict[Key, float]:
        """Give the counts of all processes together."""
        totals: dict[Key, float] = {}
        for slot in self._slots:
            for key, value in slot.counts():
                totals[key] = totals.get(key, 0.0) + value
        return totals
