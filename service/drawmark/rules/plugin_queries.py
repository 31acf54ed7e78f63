"""What local rules alone ask of an arrow's length, and what they have against it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Fitting
from drawmark.rules.collector import Collector
from drawmark.rules.rule_call import NOTHING
from drawmark.rules.rule_set import RuleSet


class LocalAnswer(NamedTuple):
    """What local rules said together.

    Parameters
    ----------
    floor : float
        The largest floor of the usable length, 0 where none was set [m].
    determinate : bool
        Every rule that may set one was evaluated.
    severity : int
        Precedence of the worst finding, in doubt where a rule has no answer.
    """

    floor: float
    determinate: bool
    severity: int


def ask_local_rules(
    fitting: Fitting, facts: Facts, ruleset: RuleSet, local: Mapping[str, object] = NOTHING
) -> LocalAnswer:
    """Ask the rules of plugins alone, once more for a request; a broken floor is no finding."""
    said = Collector()
    said.ask(ruleset.local, fitting, facts, local, again=True)
    return LocalAnswer(float(said.least_length), said.determinate, said.worst)
