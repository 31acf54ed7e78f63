"""What local rules alone ask of an arrow's length, and what they have against it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, NamedTuple

from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Fitting
from drawmark.rules.binding import RuleSet
from drawmark.rules.guard import FailedError, guard
from drawmark.rules.inspection import UnsoundError
from drawmark.rules.model import PRECEDENCE, Finding, Floor, Gift
from drawmark.rules.rule_call import NOTHING, case_of
from drawmark.rules.validation import floors_in, sound

_DOUBT: Final = PRECEDENCE["indeterminate"]
_FLOORS: Final[frozenset[Gift]] = frozenset(("floor",))


class LocalSaid(NamedTuple):
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
) -> LocalSaid:
    """Ask the rules of plugins, and nothing else, once more for a request.

    Parameters
    ----------
    fitting : Fitting
        The request in SI.
    facts : Facts
        What the core works out of it.
    ruleset : RuleSet
        Rules in force.
    local : mapping
        Plugins' names to instances of their inputs.

    Returns
    -------
    LocalSaid
        Floor and severity; a floor that the arrow breaks is no finding here.
    """
    floor, determinate, severity = 0.0, True, 0
    for group in ruleset.local:
        case = case_of(fitting, facts, group, local)
        plan = group.plans.plan_for(case)
        determinate = determinate and plan.determinate
        severity = max(severity, plan.severity)
        for bound, said in zip(
            plan.asked, guard.call_each(plan.calls, case, again=True), strict=True
        ):
            if not said:
                continue
            try:
                if isinstance(said, FailedError):
                    raise said
                if bound.rule.gives == _FLOORS:
                    # Nearly all floors are plain figures: their words need no look here.
                    floor = max(floor, *floors_in(said, _FLOORS), 0.0)
                    continue
                for one in sound(said, bound.rule.gives):
                    if isinstance(one, Floor) and one.when:
                        floor = max(floor, float(one.length))
                    elif isinstance(one, Finding) and one.when:
                        severity = max(severity, PRECEDENCE[one.severity])
            except (FailedError, UnsoundError) as error:
                if isinstance(error, UnsoundError):
                    guard.tell(bound.key, None, "unsound")
                determinate = determinate and not bound.sets_floors
                severity = max(severity, _DOUBT)
    return LocalSaid(floor, determinate, severity)
