"""The fit checks of an invented club's evening, by the real service."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from typing import Any, Final

import requests

from drawmark.demo.club import CAUTIONS, CLUB_FILE, EVENING
from drawmark.demo.host import service
from drawmark.demo.table import head, reason, row

_PLUGINS: Final = {"club-minimums", "clicker-clearance"}


def main(arguments: Sequence[str] = ()) -> int:
    """Check the evening's archers and print the verdicts; 0 where all were answered."""
    from drawmark.rules import registry

    active = {plugin.name for plugin in registry.load().active}
    with tempfile.TemporaryDirectory() as folder:
        config = None
        if active >= _PLUGINS:
            config = os.path.join(folder, "club.toml")
            with open(config, "w", encoding="utf-8") as file:
                file.write(CLUB_FILE)
        with service(config) as address, requests.Session() as session:
            return _show(session, address, local=config is not None)


def _show(session: requests.Session, address: str, local: bool) -> int:
    print(f"Drawmark answers on {address}: an invented club's evening\n")
    print(head())
    first = {}
    for name, what, body in EVENING:
        first[name] = _check(session, address, body)
        print(row(name, what, body, first[name]))
    if local:
        print("\nWhat the beginners' rules of the club's file change:\n")
        for name, _, body in EVENING:
            before = first[name]
            if "verdict" in before:
                after = _check(session, address, {**body, "ruleset": "beginners"})
                _compare(name, before, after)
    else:
        print("\nThe plugins of this repository are not installed: no local rules are shown.")
    print("\n" + "\n".join(f"* {caution}" for caution in CAUTIONS))
    return 0


def _check(session: requests.Session, address: str, body: dict[str, Any]) -> dict[str, Any]:
    body = {**body, "report_in": {"length": "in", "mass": "gr"}}
    answer: dict[str, Any] = session.post(f"{address}/v1/fit-check", json=body, timeout=30).json()
    return answer


def _compare(name: str, before: dict[str, Any], after: dict[str, Any]) -> None:
    said = [reason(one) for one in before["findings"]]
    new = [reason(one) for one in after["findings"] if one["plugin"] != "core"]
    changed = [one for one in new if one not in said]
    if before["verdict"] != after["verdict"] or changed:
        print(f"{name:8}  {before['verdict']} -> {after['verdict']}")
        for one in changed:
            print(f"          {one}")
