"""An invented club's evening: fit checks, the rack, what to buy; all by the real service."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from importlib.resources import as_file, files
from typing import Any, Final

import requests

from drawmark.answers.common import cautions
from drawmark.demo.club import EVENING, without_coach
from drawmark.demo.host import ServiceError, service
from drawmark.demo.rack import ARROWS, HOW_FAR, WHICH_LENGTHS, WHO_SHOOTS_WHICH
from drawmark.demo.table import change, head, listed, row, unwatched
from drawmark.demo.tables import assigned, bought, labelled

PLUGINS: Final = ("clicker-clearance", "club-minimums")
_CAUTIONS: Final = (*cautions.FIT, cautions.CUTTING, cautions.NO_MATCH)
_UNITS: Final = {"length": "in", "mass": "gr", "force": "lbf"}

Answer = Mapping[str, Any]


def main(arguments: Sequence[str] = ()) -> int:
    """Check the evening's archers and print the verdicts; 0 where all were answered."""
    absent = absent_plugins()
    with ExitStack() as stack:
        config = None
        if not absent:
            config = str(stack.enter_context(as_file(files(__name__) / "club.toml")))
        try:
            address = stack.enter_context(service(config))
            session = stack.enter_context(requests.Session())
            # A proxy of the environment is for the world, not for this machine.
            session.trust_env = False
            _show(session, address, absent)
        except (ServiceError, requests.RequestException) as error:
            print(f"drawmark demo: {error}", file=sys.stderr)
            return 1
    return 0


def absent_plugins() -> list[str]:
    """Name the plugins of the club's file that are not active here."""
    from drawmark.rules import registry

    active = {plugin.name for plugin in registry.load().active}
    return [name for name in PLUGINS if name not in active]


def _show(session: requests.Session, address: str, absent: Sequence[str]) -> None:
    print(f"Drawmark answers on {address}: an invented club's evening\n")
    print(head())
    answers = {}
    for name, what, body in EVENING:
        answers[name] = check(session, address, body)
        print(row(name, what, body, answers[name]))
        if answers[name].get("verdict") == "pass" and body["archer"].get("coach_checked"):
            alone = check(session, address, {**body, "archer": without_coach(body["archer"])})
            if alone["verdict"] != "pass":
                print(unwatched(alone))
    _show_club(session, address)
    if absent:
        print(f"\nNo local rules are shown: not installed are {', '.join(absent)}.")
    else:
        _show_local(session, address, answers)
    print("\nBefore anyone shoots:\n")
    print(listed([*_CAUTIONS, f"No figure tells of: {', '.join(cautions.NOT_TOLD)}."]))


def _show_club(session: requests.Session, address: str) -> None:
    print(f"\nWho shoots which set of the rack, {ARROWS} arrows each:\n")
    print(assigned(ask(session, address, "kit/assignments", WHO_SHOOTS_WHICH)))
    labels = ask(session, address, "kit/labels", HOW_FAR)
    print(
        f"\nThe rack's labels, draw lengths by the convention '{labels['draw_length_convention']}',"
        "\nand months that each is enough for a junior of 24 in who grows by 1.5 in a year:\n"
    )
    print(labelled(labels))
    print("\nLengths to buy for all of them, with growth of 1 in a year for 6 months:\n")
    print(bought(ask(session, address, "kit/lengths", WHICH_LENGTHS)))


def _show_local(session: requests.Session, address: str, answers: Mapping[str, Answer]) -> None:
    print("\nWhat the club's own rules, its file's rule set 'hall', changed and why:\n")
    same = []
    for name, _, body in EVENING:
        before = answers[name]
        if "verdict" not in before:
            continue
        lines = change(name, before, check(session, address, {**body, "ruleset": "hall"}))
        if lines:
            print(lines)
        else:
            same.append(name)
    print(f"\nUnchanged: {', '.join(same)}.")
    print("A local rule can only make an answer stricter.")


def check(session: requests.Session, address: str, body: Mapping[str, Any]) -> Answer:
    """Ask for one fit check; gives the answer, or the problem where the request has a fault."""
    return ask(session, address, "fit-check", body)


def ask(session: requests.Session, address: str, path: str, body: Mapping[str, Any]) -> Answer:
    """Ask one question; gives the answer, or the problem where the request has a fault."""
    body = {**body, "report_in": _UNITS}
    reply = session.post(f"{address}/v1/{path}", json=body, timeout=30)
    if reply.status_code != 422:
        reply.raise_for_status()
    answer: Answer = reply.json()
    return answer
