"""Cautions that only some cut plans need."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from drawmark.answers.cutting.candidates import Survey
from drawmark.answers.cutting.cut_decision import Plan
from drawmark.fitting import limits
from drawmark.fitting.cutting.saw_limits import Cutting

SYSTEMATIC: Final = (
    "The chance allows for an error that all rounds share, with a standard deviation of 3 cm at "
    "18 m. That figure is a choice of this project without a source. More shots do not show such "
    "an error."
)
COSTLY: Final = (
    "The wanted length takes room that growth or tuning may need, and a cut cannot be undone: "
    "compare it with `recommended`."
)
DIFFER: Final = (
    "The two measures of stiffness lead to different decisions here. The safer one is given."
)
UNSAFE_STOP: Final = "Do not shoot the arrow as it is: it fails the fit check."
GAP: Final = (
    "No length between the clicker's range and the minimum without a clicker is safe to draw. "
    "Cut past them in one go."
)


def plan_cautions(found: Survey, plan: Plan, options: Cutting) -> Iterator[str]:
    """Give the cautions of this plan."""
    if plan.decided.ideal is not None:
        yield SYSTEMATIC
    if found.is_costly(options.wanted_length):
        yield COSTLY
    if plan.decided.measures_differ:
        yield DIFFER
    if found.here is not found.there and limits.shorter(found.window.longest, found.here.minimum):
        yield GAP
    if not found.here.may_be_shot:
        yield UNSAFE_STOP
