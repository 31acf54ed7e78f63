"""Whether local rules allow an arrow at the draws that a figure takes in, and not at its end alone.

They are asked every half inch, or every inch where they answer one by one. What a rule says only
between two of these draws is not found.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from msgspec.structs import replace

from drawmark.answers.common.archer_at_draw import Trials
from drawmark.answers.common.draw_search import DOUBT, STOP
from drawmark.fitting import limits
from drawmark.fitting.columns import Column
from drawmark.fitting.units import INCH
from drawmark.rules.batch_outcome import OutcomeColumns
from drawmark.rules.model import PRECEDENCE
from drawmark.rules.rule_set import RuleSet

_STEP: Final = 0.5 * INCH


class Objection(NamedTuple):
    """What a local rule has against an arrow at a draw.

    Parameters
    ----------
    draw : float
        Draw to the pivot point [m].
    plugin, rule : str
        Whose rule it is; no rule where a whole plugin has no answer.
    severity : int
        Precedence of what it says: in doubt or stopped.
    """

    draw: float
    plugin: str
    rule: str
    severity: int

    def __str__(self) -> str:
        """Say it, as the beginning of a sentence."""
        whose = f"The rule {self.rule} of {self.plugin}" if self.rule else f"The {self.plugin}"
        done = "stops this arrow" if self.severity == STOP else "leaves this arrow in doubt"
        inches = (self.draw + limits.STANDARD_OFFSET) / INCH
        return f"{whose} {done} at a draw of {inches:.1f} in, to the pivot point plus 1 3/4 in"


def object_below(trials: Trials, least: float, draw: float) -> Objection | None:
    """Find what is said against the longest draw, of those between two [m], that is not allowed.

    The core allows every draw that is shorter than one that it allows, so only local rules are
    asked.
    """
    if not trials.context.ruleset.local:
        return None
    first = np.ceil((least + limits.STANDARD_OFFSET) / _STEP) * _STEP - limits.STANDARD_OFFSET
    return _object(trials, np.append(least, np.arange(first, draw, _STEP)))


def object_within(trials: Trials, draw: float, growth: float) -> Objection | None:
    """Find the same of the draws that an archer may grow to."""
    grown = replace(trials, grown=draw + growth)
    return _object(grown, draw + np.append(np.arange(_STEP, growth, _STEP), growth))


def _object(trials: Trials, draws: Column) -> Objection | None:
    ruleset = trials.context.ruleset
    found = _object_at(trials, draws, ruleset.local_in_columns)
    # One by one they are asked at every other of these draws, and at all if there is an objection.
    some = np.append(draws[:-1:2], draws[-1])
    beside = _object_at(trials, some, ruleset.local_one_by_one)
    if beside is not None:
        beside = _object_at(trials, draws, ruleset.local_one_by_one)
    return max(filter(None, (found, beside)), default=None)


def _object_at(trials: Trials, draws: Column, local: RuleSet) -> Objection | None:
    if not local.rules:
        return None
    asked = trials.check_many(draws, ruleset=local)
    return max(filter(None, [_objection(*one) for one in asked]), default=None)


def _objection(draws: Column, said: OutcomeColumns) -> Objection | None:
    against = np.flatnonzero(said.severities >= DOUBT)
    if not against.size:
        return None
    at = int(against[-1])
    severity, told = int(said.severities[at]), said.item(at)
    deciding = [one for one in told.findings if PRECEDENCE[one.said.severity] == severity]
    first = (deciding or told.unevaluated)[0]
    return Objection(float(draws[at]), first.plugin, first.rule, severity)
