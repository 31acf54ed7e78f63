"""A club's evening: sets given out, and what a single fit check says of a pair."""

from __future__ import annotations

from hypothesis import strategies as st

from answers.club.people import CORE, archers, arrows
from drawmark.answers.club.members import QueuedArcher, RackSet
from drawmark.answers.common.context import Context
from drawmark.answers.common.minimum import shortest_safe
from drawmark.answers.kit_assignments import Request, answer
from drawmark.fitting.draw.control import exposed_of
from drawmark.fitting.limits import longer, shorter
from drawmark.fitting.model import Fitting
from drawmark.fitting.window import window_of
from drawmark.rules.evaluate import evaluate


def give(people, sets, each=6, ruleset=CORE):
    request = Request(archers=tuple(people), sets=tuple(sets), arrows_per_archer=each)
    return answer(request, Context(ruleset=ruleset, engine="test"))


def given_to(said):
    return {one["archer"]: one["set"] for one in said["assignments"]}


def why(said):
    return {one["archer"]: one["reason"] for one in said["unequipped"]}


@st.composite
def clubs(draw):
    people = [
        QueuedArcher(id=f"archer {at}", archer=one, bow=bow)
        for at, (one, bow) in enumerate(draw(st.lists(archers(), min_size=1, max_size=4)))
    ]
    sets = [
        RackSet(id=f"set {at}", arrow=arrow, count=draw(st.integers(0, 12)))
        for at, arrow in enumerate(draw(st.lists(arrows(), min_size=1, max_size=3)))
    ]
    return people, sets


def judge_alone(shooter, arrow, ruleset):
    """The single fit check, as the operation for one archer does it."""
    fitting = Fitting(archer=shooter.archer, bow=shooter.bow, arrow=arrow)
    outcome = evaluate(fitting, ruleset, shooter.local)
    minimum = float(outcome.minimum_usable + outcome.facts.sleeve)
    shortest = float(shortest_safe(minimum, outcome.facts, shooter.bow, arrow))
    ceilings = [float(placed.said.length) for placed in outcome.ceilings]
    window = window_of(
        outcome.facts, shooter.bow, exposed_of(arrow), minimum, min(ceilings, default=None)
    )
    inside = not (
        window.empty
        or shorter(arrow.length, window.shortest)
        or longer(arrow.length, window.longest)
    )
    return outcome, arrow.length - shortest, inside
