"""Says what a configuration would do, or what is wrong with it."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING

from drawmark.errors import UserError
from drawmark.rules.club_folder import SUFFIX, read_clubs
from drawmark.rules.configuration import configure, describe
from drawmark.rules.registry import load

if TYPE_CHECKING:
    from drawmark.web.wire.callers import Callers


def check_file(path: str, tokens: str | None, examples: str | None) -> int:
    """Describe one file; exit status 1 if nothing could pass, or an example is refused."""
    configuration = configure(load(), path)
    print(describe(configuration))
    if tokens is not None:
        _read_callers(path, tokens)
    refused = 0
    if examples is not None:
        from drawmark.cli.try_file import try_file

        refused = try_file(path, examples)
    return 1 if configuration.missing or refused else 0


def check_folder(path: str, tokens: str | None, examples: str | None) -> int:
    """Describe the file of each club; exit status 2 if one has a fault, 1 if nothing could pass."""
    if examples is not None:
        raise UserError("--try takes the file of one club, not a folder")
    callers = None if tokens is None else _read_callers(path, tokens)
    clubs = read_clubs(path, load()) if callers is None else callers.clubs
    assert clubs is not None, "the path is a folder"
    for name, configuration in clubs.configurations.items():
        print(f"== {name}{SUFFIX}\n{describe(configuration)}")
    for name, error in clubs.faults.items():
        _print_faults(f"{name}{SUFFIX}: {fault}" for fault in str(error).splitlines())
    faulty = () if callers is None else callers.faults
    _print_faults(faulty)
    return 2 if clubs.faults or faulty else 1 if clubs.waiting else 0


def _read_callers(path: str, tokens: str) -> Callers:
    from drawmark.web.settings import Settings
    from drawmark.web.wire.callers import read_callers

    return read_callers(Settings(config=path, tokens_file=tokens))


def _print_faults(faults: Iterable[str]) -> None:
    for fault in faults:
        print(f"drawmark: {fault}", file=sys.stderr)
