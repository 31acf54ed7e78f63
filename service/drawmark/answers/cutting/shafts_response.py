"""Which shafts of a set are cut now, in an answer."""

from __future__ import annotations

from typing import Annotated, Final, TypedDict

from drawmark.fitting.cutting.next_cut import CutDecision
from drawmark.fitting.cutting.planned_steps import share_shafts
from drawmark.fitting.cutting.saw_limits import Cutting

TESTS: Final = "Cut only the test shafts. The set follows once two rounds at one length agree."
FOLLOW: Final = "Two rounds at this length agree. The set may be cut to it."


class Shafts(TypedDict):
    """How the shafts of a set are shared."""

    test: Annotated[int, "Shafts to cut and shoot now."]
    waiting: Annotated[int, "Shafts to cut when the set follows."]
    uncut: Annotated[int, "Shafts to keep uncut until the set follows."]


class ShaftsOfSet(TypedDict):
    """Which shafts of the set are cut now."""

    shafts: Annotated[Shafts, "Number of shafts of each kind."]
    set_may_follow: Annotated[bool, "Whether two rounds at this length agree."]
    shafts_advice: Annotated[str, "What to do with the set."]


def shafts_response(decided: CutDecision, options: Cutting) -> ShaftsOfSet:
    """Tell which shafts of the set are cut now."""
    shafts = share_shafts(options)
    return {
        "shafts": {
            "test": shafts.test,
            "waiting": shafts.waiting,
            "uncut": 0 if decided.set_may_follow else shafts.uncut,
        },
        "set_may_follow": decided.set_may_follow,
        "shafts_advice": FOLLOW if decided.set_may_follow else TESTS,
    }
