"""The club's side of a request: archers with their bows, and the sets of the rack."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from drawmark.answers.common.context import Context
from drawmark.fitting import fields
from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.limits import shorter
from drawmark.fitting.mechanics.arrow_validation import faults_of
from drawmark.fitting.model import MATERIALS, Archer, Arrow, Bow, Fitting

MOST_ARCHERS: Final = 500
MOST_SETS: Final = 500
MOST_IN_SET: Final = 10_000
VANES: Final = ("feathers", "plastic")
LONGEST_ID: Final = 100
_LIGHTEST: Final = fields.quantity_of(Arrow, "mass").low


class Named(Protocol):
    """An item of a list in the request that may have a name."""

    @property
    def id(self) -> str | None:
        """Name in the answer."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Asked:
    """What an archer's bow asks of a set beside length, stiffness and mass."""

    nock_size: str | None = fields.text(
        LONGEST_ID, "Size of nock that fits the string, as the club names it.", default=None
    )
    vanes: str | None = fields.choice(
        VANES, "Vanes that clear this bow. Off the hand or a shelf, use feathers.", default=None
    )
    material: str | None = fields.choice(
        MATERIALS, "The only shaft material that this archer may shoot.", default=None
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class ClubArcher:
    """One archer of the club with a bow."""

    id: str = fields.text(LONGEST_ID, "Name of this archer in the answer. Use each name once.")
    archer: Archer = fields.part(Archer, "The archer.")
    bow: Bow = fields.part(Bow, "The archer's bow.")
    local: Mapping[str, object] | None = fields.local(
        "Inputs of local rules for this archer, by plugin. They replace the request's own."
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class QueuedArcher(ClubArcher):
    """An archer who waits for a set."""

    asked: Asked = fields.part(
        Asked,
        "What the bow needs of a set. A set that does not state the same is not used.",
        default=Asked(),
    )
    detail: str | None = fields.text(
        LONGEST_ID,
        "Detail in which this archer shoots, as the club names it. Archers of different details "
        "may share arrows, those of the same never. State it of every archer or of none.",
        default=None,
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class ClubSet:
    """A set of arrows, described by those that decide."""

    id: str = fields.text(LONGEST_ID, "Name of this set in the answer. Use each name once.")
    arrow: Arrow = fields.part(
        Arrow, "The set's arrow: its length is that of the shortest in the set."
    )
    mass_spread: float | None = fields.mass(
        0.0,
        0.05,
        "How much lighter than `arrow.mass` the lightest arrow of the set is. The lightest is "
        "checked.",
        default=None,
    )

    def weakest(self) -> Arrow:
        """Give the arrow that is checked: the shortest, and as light as the lightest."""
        if self.mass_spread is None or self.arrow.mass is None:
            return self.arrow
        return dataclasses.replace(self.arrow, mass=self.arrow.mass - self.mass_spread)


@dataclass(frozen=True, kw_only=True, slots=True)
class RackSet(ClubSet):
    """A set on the rack, ready to be given out."""

    count: int = fields.whole(0, MOST_IN_SET, "Usable arrows, after inspection.")
    nock_size: str | None = fields.text(
        LONGEST_ID, "Size of the nocks, as the club names it.", default=None
    )
    vanes: str | None = fields.choice(VANES, "What the vanes are made of.", default=None)
    next_shortest: float | None = fields.length(
        0.30,
        1.20,
        "Length of the shortest arrow but one. For an archer to whom no set is long enough, the "
        "answer then says what setting the shortest aside would do.",
        default=None,
    )

    def suits(self, asked: Asked) -> bool:
        """Tell whether the set states all that a bow asks of it."""
        material = None if self.arrow.shaft is None else self.arrow.shaft.material
        return (
            asked.nock_size in (None, self.nock_size)
            and asked.vanes in (None, self.vanes)
            and asked.material in (None, material)
        )


def check_archers(archers: Sequence[ClubArcher]) -> list[Facts]:
    """Work out of each archer what no arrow is needed for."""
    faults = repeated_ids("archers", archers)
    facts = []
    for place, one in enumerate(archers):
        try:
            facts.append(facts_of(Fitting(archer=one.archer, bow=one.bow)))
        except FittingError as error:
            faults += [_moved(fault, ("archers", place)) for fault in error.faults]
    if faults:
        raise FittingError(*faults)
    return facts


def check_sets(sets: Sequence[ClubSet]) -> tuple[Arrow, ...]:
    """Look over the sets, and give the arrow of each that is checked; FittingError if any fault."""
    faults = repeated_ids("sets", sets)
    for place, one in enumerate(sets):
        own = (*faults_of(one.arrow), *_mass(one), *_next(one))
        faults += [_moved(fault, ("sets", place)) for fault in own]
    if faults:
        raise FittingError(*faults)
    return tuple(one.weakest() for one in sets)


def local_of(one: ClubArcher, context: Context) -> Mapping[str, object]:
    """Give the inputs of local rules for one archer."""
    return {**context.local, **one.local} if one.local else context.local


def _moved(fault: Fault, place: tuple[str | int, ...]) -> Fault:
    return dataclasses.replace(fault, path=(*place, *fault.path))


def repeated_ids(name: str, items: Iterable[Named]) -> list[Fault]:
    """Point at each id that is used more than once in a list of the request."""
    ids = [one.id for one in items]
    times = Counter(ids)
    return [
        Fault(path=(name, place, "id"), detail="is used twice: give each one its own name")
        for place, id in enumerate(ids)
        if id is not None and times[id] > 1
    ]


def _mass(one: ClubSet) -> list[Fault]:
    if one.mass_spread is None:
        return []
    if one.arrow.mass is None:
        return [Fault(path=("arrow", "mass"), detail="This is needed beside mass_spread.")]
    if one.arrow.mass - one.mass_spread < _LIGHTEST:
        return [Fault(path=("mass_spread",), detail="leaves the lightest arrow too light")]
    return []


def _next(one: ClubSet) -> list[Fault]:
    length = one.arrow.length
    given = one.next_shortest if isinstance(one, RackSet) else None
    if given is None or length is None or not shorter(given, float(length)):
        return []
    return [Fault(path=("next_shortest",), detail="is shorter than the shortest arrow")]
