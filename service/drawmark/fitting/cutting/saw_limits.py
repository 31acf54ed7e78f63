"""How far the next cut may go, and how many more rounds would allow one."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drawmark.fitting import fields, limits
from drawmark.fitting.cutting.ideal_length import Posterior
from drawmark.fitting.cutting.offsets import Evidence
from drawmark.fitting.mechanics.spine import MOST_TAPERED_STEPS
from drawmark.fitting.rounding import round_up

CUT_ENDS = ("front", "rear")


@dataclass(frozen=True, kw_only=True, slots=True)
class Cutting:
    """What the coach asks of a cut plan."""

    wanted_length: float | None = fields.length(
        0.30, 1.20, "Length at which to stop, because of a clicker or by choice.", default=None
    )
    target_offset: float = fields.length(
        0.0,
        0.5,
        "Offset on the weak side at which to stop. Finish at the button or the draw weight.",
        default=0.0,
    )
    largest_step: float | None = fields.length(
        0.001,
        0.05,
        "Longest piece to cut off at once. A first plan for a tapered shaft has at most "
        f"{MOST_TAPERED_STEPS} cuts.",
        default=None,
    )
    smallest_step: float = fields.length(
        0.0005,
        0.02,
        "Shortest piece worth cutting off. The saw's kerf and squaring limit it.",
        default=limits.SMALLEST_STEP,
    )
    cut_end: str = fields.choice(CUT_ENDS, "End of the shaft that is cut.", default="front")
    risk: float = fields.number(
        0.001,
        0.2,
        ("Highest chance of cutting too far that one cut may have."),
        default=limits.CUT_RISK,
    )
    test_shafts: int = fields.whole(1, 24, "Shafts cut to find the length.", default=2)
    set_count: int = fields.whole(1, 200, "Shafts in the set, test shafts included.", default=12)
    available_points: tuple[float, ...] | None = fields.quantity(
        "mass", 0.0, 0.1, "Masses of points at hand.", default=None, fewest=1, most=40
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class SawLimits:
    """How far a cut may go.

    Parameters
    ----------
    present : float
        Present arrow length [m].
    lowest : float
        Shortest arrow length allowed: floor or wanted length [m].
    options : Cutting
        What the coach wants.
    increment : float or None
        Increment of the saw; lengths round up to it [m].
    """

    present: float
    lowest: float
    options: Cutting
    increment: float | None = None

    def round_up(self, length: float) -> float:
        """Round a length [m] up to the saw's increment, never past the present length."""
        return min(float(round_up(length, self.increment)), self.present)

    def is_worth(self, length: float) -> bool:
        """Tell whether going from the present to a length [m] is worth a cut."""
        return not limits.shorter(self.present - length, self.options.smallest_step)

    def next_length(self, posterior: Posterior) -> float:
        """Shortest length [m] the next cut may reach; the present one where none is allowed."""
        safe = posterior.quantile(1 - self.options.risk) - limits.CUT_TOLERANCE
        nearest = self.present - (self.options.largest_step or limits.LARGEST_STEP)
        return self.round_up(max(safe, posterior.quantile(0.5), self.lowest, nearest))


def count_rounds(
    posterior: Posterior, last: Evidence, saw: SawLimits, worth: float = math.inf
) -> int | None:
    """Count the further rounds like the last that would allow a cut, if they go as expected.

    Parameters
    ----------
    posterior : Posterior
        What is known now.
    last : Evidence
        The last round, whose noise the further ones would have [m, rad].
    saw : SawLimits
        How far a cut may go.
    worth : float
        Most rounds worth shooting.

    Returns
    -------
    int or None
        Number of rounds; None where no number worth shooting would allow a cut.

    References
    ----------
    .. [1] cut-policy
    """
    expected = posterior.expected_offset(saw.present)
    for rounds in limits.FURTHER_ROUNDS:
        if rounds > worth:
            break
        further = Evidence(
            length=saw.present,
            offset=expected,
            deviation=last.deviation / math.sqrt(rounds),
        )
        if saw.is_worth(saw.next_length(posterior.update(further))):
            return rounds
    return None
