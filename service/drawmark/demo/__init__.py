"""Shows an invented club's evening or season, answered by the real service."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from importlib.resources import as_file, files
from typing import Any, Final

import requests

from drawmark.answers.common import cautions
from drawmark.client import Answer, ClientError, Drawmark, ProblemError, Request
from drawmark.demo import report
from drawmark.demo.club import EVENING, without_coach
from drawmark.demo.host import ServiceError, service
from drawmark.demo.rack import ARROWS, HOW_FAR, WHICH_LENGTHS, WHO_SHOOTS_WHICH
from drawmark.demo.season import STEPS

PLUGINS: Final = ("clicker-clearance", "club-minimums")
_CAUTIONS: Final = (*cautions.FIT, cautions.CUTTING, cautions.NO_MATCH)
_UNITS: Final = {"length": "in", "mass": "gr", "force": "lbf"}


def main(*, season: bool = False) -> int:
    """Show an evening, or a season; give the exit status."""
    absent = absent_plugins()
    with ExitStack() as stack:
        config = None
        if not absent:
            config = str(stack.enter_context(as_file(files(__name__) / "club.toml")))
        try:
            address = stack.enter_context(service(config))
            session = requests.Session()
            # A proxy named in the environment cannot reach this machine's loopback.
            session.trust_env = False
            demo = _Demo(stack.enter_context(Drawmark(address, session=session)))
            if season:
                print(f"Drawmark answers on {address}. A season of an invented club:")
                demo.show_season()
            else:
                print(f"Drawmark answers on {address}. An evening at an invented club:\n")
                demo.show(absent)
        except (ServiceError, ClientError) as error:
            print(f"drawmark demo: {error}", file=sys.stderr)
            return 1
    return 0


def absent_plugins() -> list[str]:
    """Name the plugins of the club's file that are not active here."""
    from drawmark.rules import registry

    active = {plugin.name for plugin in registry.load().active}
    return [name for name in PLUGINS if name not in active]


class _Demo:
    """Asks a service and prints its answers."""

    def __init__(self, client: Drawmark) -> None:
        self._client = client

    def show(self, absent: Sequence[str]) -> None:
        """Print the whole demo."""
        answers = {name: self._check(body) for name, _, body in EVENING}
        print(report.evening([self._row(*one, answers[one[0]]) for one in EVENING]))
        self._show_club()
        if absent:
            print(f"\nNo local rules are shown. These plugins are missing: {', '.join(absent)}.")
        else:
            self._show_local(answers)
        print("\nBefore anyone shoots:\n")
        print(report.bullets([*_CAUTIONS, f"No figure covers: {', '.join(cautions.NOT_TOLD)}."]))

    def show_season(self) -> None:
        """Print a season, step by step."""
        for step in STEPS:
            print(f"\n{step.title}\n")
            print(step.show(step.asks(self._client, _reported(step.sends))))
        print("\nBefore anyone shoots:\n")
        print(report.bullets(_CAUTIONS))

    def _row(self, name: str, what: str, body: dict[str, Any], answer: Answer) -> report.Row:
        alone = None
        if answer.get("verdict") == "pass" and body["archer"].get("coach_checked"):
            alone = self._check({**body, "archer": without_coach(body["archer"])})
        return report.evening_row(name, what, body, answer, alone)

    def _show_club(self) -> None:
        print(f"\nWho shoots which set of the rack, with {ARROWS} arrows each:\n")
        print(report.assignments(self._client.kit_assignments(_reported(WHO_SHOOTS_WHICH))))
        labels = self._client.kit_labels(_reported(HOW_FAR))
        convention = labels["draw_length_convention"]
        print(
            f"\nThe rack's labels: each set's longest draw, by the convention '{convention}'."
            "\nMonths: how long it serves a junior who draws 24 in and grows by 1.5 in a year.\n"
        )
        print(report.labels(labels))
        print("\nLengths to buy for everyone, if they grow 1 in a year for 6 months:\n")
        print(report.lengths(self._client.kit_lengths(_reported(WHICH_LENGTHS))))

    def _show_local(self, answers: Mapping[str, Answer]) -> None:
        print("\nWhat the club's own rule set 'hall' changes, and why:\n")
        unchanged = []
        for name, _, body in EVENING:
            before = answers[name]
            if "verdict" not in before:
                continue
            changes = report.changes(name, before, self._check({**body, "ruleset": "hall"}))
            if changes:
                print(changes)
            else:
                unchanged.append(name)
        print(f"\nUnchanged: {', '.join(unchanged)}.")
        print("A local rule can only make an answer stricter.")

    def _check(self, body: Request) -> Answer:
        """Give the answer, or the faults of a request that has some."""
        try:
            return self._client.fit_check(_reported(body))
        except ProblemError as problem:
            if problem.status != 422:
                raise
            return {"errors": problem.errors}


def _reported(body: Request) -> Request:
    return {**body, "report_in": _UNITS}
