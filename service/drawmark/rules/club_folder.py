"""A folder of clubs' files, each read by itself: a fault of one spoils nothing of another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from drawmark.rules.configuration import Configuration, configure
from drawmark.rules.registry import Registry
from drawmark.rules.rule_set import Binder
from drawmark.rules.text_values import Fault, ReadingError
from drawmark.rules.validation import one_line
from drawmark.tokens import NAME

SUFFIX: Final = ".toml"
LARGEST_FILE: Final = 64 * 1024
"""Largest file of a club, of which a start reads a thousand [byte]."""


@dataclass(frozen=True, kw_only=True)
class Clubs:
    """The clubs of a service.

    Parameters
    ----------
    configurations : mapping
        Names of clubs to the rule sets that are in force.
    faults : mapping
        Names of clubs to what is wrong with their files. What such a file said before stays in
        force; a club that had none before has no rule sets.
    """

    configurations: Mapping[str, Configuration]
    faults: Mapping[str, ReadingError]

    @property
    def counts(self) -> dict[str, int]:
        """How many clubs there are, and in which state."""
        return {
            "known": len(self.configurations.keys() | self.faults.keys()),
            "closed": len(self.closed),
            "stale": len(self.stale),
            "waiting": len(self.waiting),
        }

    @property
    def stale(self) -> frozenset[str]:
        """Clubs whose earlier rule sets are in force, since their file has a fault now."""
        return frozenset(self.faults.keys() & self.configurations.keys())

    @property
    def closed(self) -> frozenset[str]:
        """Clubs that have no rule sets."""
        return frozenset(self.faults.keys() - self.configurations.keys())

    @property
    def waiting(self) -> frozenset[str]:
        """Clubs that lack a plugin which they require."""
        return frozenset(name for name, one in self.configurations.items() if one.missing)


def read_clubs(
    folder: str | Path,
    registry: Registry,
    expected: Iterable[str] = (),
    before: Clubs | None = None,
) -> Clubs:
    """Read each NAME.toml of a folder; ReadingError if the folder has none, or cannot be read.

    A club that is `expected` and has no file has a fault.
    """
    files = {file.stem: file for file in _files_of(Path(folder))}
    configurations, faults = dict[str, Configuration](), dict[str, ReadingError]()
    binder = Binder()
    for name, file in files.items():
        try:
            configurations[name] = _read(name, file, registry, binder)
        except ReadingError as error:
            faults[name] = error
        except (Exception, SystemExit) as error:
            # Whatever it is, and be it a plugin that leaves, it is this club's alone.
            detail = one_line(f"cannot be read: {type(error).__name__}: {error}")
            faults[name] = ReadingError(Fault(str(file), detail))
    for name in set(expected) - files.keys():
        missing = Path(folder) / f"{name}{SUFFIX}"
        faults[name] = ReadingError(Fault(str(missing), "is missing, and tokens name this club"))
    if before is not None:
        kept = {name: one for name, one in before.configurations.items() if name in faults}
        configurations.update(kept)
    return Clubs(configurations=configurations, faults=faults)


def _files_of(folder: Path) -> Iterator[Path]:
    try:
        files = sorted(
            one for one in folder.iterdir() if one.suffix == SUFFIX and one.name[0] != "."
        )
    except OSError as error:
        raise ReadingError(Fault(str(folder), f"cannot be read: {error.strerror}")) from error
    if not files:
        raise ReadingError(Fault(str(folder), f"holds no club's file, such as elm-hall{SUFFIX}"))
    return iter(files)


def _read(name: str, file: Path, registry: Registry, binder: Binder) -> Configuration:
    if not NAME.fullmatch(name):
        detail = "must be named with lower-case letters, digits or -, beginning with a letter"
        raise ReadingError(Fault(str(file), detail))
    try:
        if not file.is_file():
            raise ReadingError(Fault(str(file), "is not a file"))
        if file.stat().st_size > LARGEST_FILE:
            raise ReadingError(Fault(str(file), f"is larger than {LARGEST_FILE} bytes"))
    except OSError as error:
        raise ReadingError(Fault(str(file), f"cannot be read: {error.strerror}")) from error
    return configure(registry, file, binder)
