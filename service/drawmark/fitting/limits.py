"""Every margin and limit of the core, with the key of its source, and how figures compare."""

from __future__ import annotations

from typing import Final

from drawmark.fitting.columns import Real, Truth
from drawmark.fitting.units import GRAIN, INCH, POUND_FORCE

TOLERANCE: Final = 1e-6  # project-tolerance
"""Lengths that differ by no more than this are the same length [m]."""
_TOLERATED: Final = TOLERANCE + 1e-12  # sums of lengths carry errors far below this
RELATIVE_TOLERANCE: Final = 1e-9  # project-tolerance
"""Other figures closer than this share are the same."""

STANDARD_OFFSET: Final = 1.75 * INCH  # amo-draw-length
LEAST_OVERHANG: Final = 1.0 * INCH  # margin-one-inch
OVERHANG: Final = {  # margin-one-inch; advised past the back of the bow, by experience
    "first_evenings": 3.0 * INCH,
    "learning": 2.0 * INCH,
    "practised": 1.5 * INCH,
}
GREATEST_OVERHANG: Final = {  # margin-one-inch
    "first_evenings": 3.0 * INCH,
    "learning": 3.0 * INCH,
    "practised": 2.0 * INCH,
}
RETENTION_MARGIN: Final = 0.5 * INCH  # project-margin
CAUTION_BAND: Final = {  # project-margin; above the minimum, by experience
    "first_evenings": 1.0 * INCH,
    "learning": 0.5 * INCH,
    "practised": 0.5 * INCH,
}
CLICKER_MOVE: Final = 0.5 * INCH  # project-margin; a blade that is so little off is moved first
BASE_ALLOWANCE: Final = {  # project-margin; margin-one-inch for an uncontrolled draw
    "none": LEAST_OVERHANG,
    "settled": 0.010,
    "clicker": 0.006,
    "draw_stop": 0.006,
}
"""Allowance V for the spread of a draw where nothing was measured, by its control [m]."""
SPREAD_PRIOR_FREEDOM: Final = 3  # spread-prediction; degrees of freedom of the prior
CONFIDENCE_LEVEL: Final = 0.95  # deviation-bound
CONTROLLED_DEVIATION: Final = 0.006  # project-margin; a clicker or a stop ends draws this alike
FEW_DRAWS: Final = 6  # project-margin; fewer draws say little about spread
WIDE_ALLOWANCE: Final = {  # project-margin; few draws with more than this vary widely
    "none": 2.0 * INCH,
    "settled": 2.0 * INCH,
    "clicker": 1.0 * INCH,
    "draw_stop": 1.0 * INCH,
}
SETTLED_COUNT: Final = 12  # project-margin
BLADE_WIDTH: Final = 0.0001  # project-tolerance; a blade is not set, nor a length told, more finely
PREDICTION_LEVEL: Final = 0.99865  # prediction-interval

ARM_SPAN_RATIO: Final = 2.5  # arm-span
ARM_SPAN_MARGIN: Final = 4.0 * INCH  # project-margin
ARM_SPAN_DISAGREEMENT: Final = 0.075  # project-tolerance

RATED_DRAW: Final = 28 * INCH  # force-per-inch; that bows are rated there is from memory
STRONG_BOW: Final = 40 * POUND_FORCE  # force-per-inch
FORCE_PER_INCH: Final = (2 * POUND_FORCE / INCH, 3 * POUND_FORCE / INCH)  # force-per-inch
WEIGHT_PER_FORCE_GRADIENT: Final = (20 * INCH, 13 * INCH)  # project-margin; of lighter bows
LEAST_WEIGHT_SHARE: Final = 0.1  # project-margin; of the rated draw weight, for a short draw
MOST_WEIGHT_RAISE: Final = 2 * POUND_FORCE  # project-margin; of a bow, to suit a stiff arrow
TRADE_SPINE_RULE: Final = 5 * POUND_FORCE / INCH  # trade-spine-rule

LAUNCH_LOAD_CAUTION: Final = 1.8  # project-launch-load
LAUNCH_LOAD_STOP: Final = 2.2  # project-launch-load
LAUNCH_LOAD_CAUTION_WOOD: Final = 2.6  # project-launch-load
LAUNCH_LOAD_STOP_WOOD: Final = 3.2  # project-launch-load
ARROW_MASS_CAUTION: Final = 6 * GRAIN / POUND_FORCE  # light-arrow
ARROW_MASS_STOP: Final = 5 * GRAIN / POUND_FORCE  # astm-f1544
HEAVY_ARROW: Final = 1000 * GRAIN  # project-tolerance; few are that heavy from any bow
HEAVY_ARROW_FOR_BOW: Final = 25 * GRAIN / POUND_FORCE  # project-tolerance
ARROW_MASS_WOOD: Final = 8 * GRAIN / POUND_FORCE  # wood-arrow-mass
BALANCE_LOW: Final = 7.0  # balance-range
BALANCE_HIGH: Final = 16.0  # balance-range
REAR_PARTS_NOCK: Final = 15 * GRAIN  # rear-parts; the heaviest usual
REAR_PARTS_VANES: Final = 30 * GRAIN  # rear-parts; the heaviest usual, all together
REAR_PARTS_EDGE: Final = 1 * INCH  # rear-parts; from the nock slot to the vanes
REAR_PARTS_LENGTH: Final = 3 * INCH  # rear-parts; of those vanes
SHAFT_DIAMETER: Final = 0.0093  # wa-shaft-diameter
MASS_DISAGREEMENT: Final = 0.05  # project-tolerance; share of the weighed mass
BALANCE_DISAGREEMENT: Final = 0.010  # project-tolerance
POINT_DISAGREEMENT: Final = 2 * GRAIN  # project-tolerance; of the point told with a round
POINT_REACH_AHEAD: Final = 0.025  # project-tolerance; where the mass of a point may lie
POINT_REACH_BEHIND: Final = 0.040  # project-tolerance
LARGEST_POINT_CHANGE: Final = 2.0  # project-margin; solved mass over the present mass

LAUNCH_LOAD_MIDDLE: Final = 1.35  # project-launch-middle
LAUNCH_LOAD_STEP: Final = 1e-4  # project-launch-middle; finer differences are ties
ODD_DEVIATIONS: Final = 3.5  # project-consistency
MAD_TO_DEVIATION: Final = 1.4826  # normal-mad
CONSISTENCY_COUNT: Final = 3  # project-consistency; fewer arrows have no odd one
LEAST_ODD_LENGTH: Final = 0.001  # project-consistency
LEAST_ODD_MASS: Final = 3 * GRAIN  # project-consistency
LEAST_ODD_BALANCE: Final = 0.003  # project-consistency
LEAST_ODD_SPINE: Final = 0.05  # project-consistency; share of the typical stiffness
MOST_LIKE_LENGTH: Final = 0.006  # project-consistency; further off is odd in any set
MOST_LIKE_MASS: Final = 10 * GRAIN  # project-consistency
MOST_LIKE_BALANCE: Final = 0.010  # project-consistency
MOST_LIKE_SPINE: Final = 0.10  # project-consistency; share of the typical stiffness
USUAL_LENGTH_RANGE: Final = INCH / 16  # set-tolerance; longest less shortest
USUAL_MASS_RANGE: Final = 5 * GRAIN  # set-tolerance; heaviest less lightest
JUNIOR_HEIGHT_VELOCITY: Final = 0.119 / 12  # tanner-davies; [m a month], ages 10 to 15
HEIGHT_TO_DRAW: Final = 2.5  # draw-growth
GROWN_UP_AGE: Final = 20.0  # growth-ages; [years]
FRESH_MONTHS: Final = 3.0  # growth-ages; an older draw is measured again
MOST_SAFE_MONTHS: Final = 120  # project-margin; a rate says nothing about later years

ARROW_DEVIATION: Final = 0.0033  # cut-prior; one arrow across, over distance [rad]
ARROW_DEVIATION_FREEDOM: Final = 2.0  # cut-prior; what that default counts for
SENSITIVITY: Final = 1 / 18  # cut-prior; median: 1 m at 18 m for a unit of log spine [rad]
SENSITIVITY_DEVIATION: Final = 0.7  # cut-prior; of its logarithm
BEND_DEVIATION: Final = 1.0  # cut-prior; of the response's bend
LEAST_DEVIATION: Final = 2e-4  # cut-prior; an offset is not read more finely [rad]
SYSTEMATIC_DEVIATION: Final = 0.03 / 18  # cut-prior; of all rounds together: 3 cm at 18 m [rad]
WILD_SHARE: Final = 0.01  # cut-prior; of rounds that say nothing
WILD_DENSITY: Final = 18 / 0.8  # cut-prior; of their offsets, over 80 cm at 18 m [1/rad]
NOISE_SCALES: Final = ((2 / 3, 0.25), (1.0, 0.5), (1.5, 0.25))  # cut-prior; factor, share
IDEAL_EXPECTED_BELOW: Final = 0.025  # cut-prior; the zero below the longest length shot
IDEAL_DEVIATION: Final = 0.040  # cut-prior
IDEAL_REACH_BELOW: Final = 0.140  # cut-prior; how far below a length shot the ideal may lie
IDEAL_REACH_ABOVE: Final = 0.040  # cut-prior
COORDINATE_STEP: Final = 0.020  # cut-prior; between the knots of the coordinate
SHORTEST_CONSIDERED: Final = 0.25  # cut-prior

CUT_RISK: Final = 0.02  # cut-policy
CUT_TOLERANCE: Final = 0.0025  # cut-policy; further past the ideal is too far
CLOSE_ENOUGH: Final = 0.004  # cut-policy; nearer the ideal, finish at button or draw weight
ROUND_WORTH: Final = 0.007  # cut-policy; length a round of shots must win
TOO_STIFF_CHANCE: Final = 0.8  # cut-policy
LARGEST_BLIND_STEP: Final = 0.010  # cut-policy; the trade's centimetre
LARGEST_STEP: Final = 0.025  # cut-policy; what shots support
STEP_SHARE: Final = 0.6  # cut-policy; of what is left, for a cut without shots
SMALLEST_STEP: Final = 0.002  # cut-policy; kerf and squaring
FURTHER_ROUNDS: Final = (1, 2, 3, 4, 6, 8, 12)  # cut-policy; numbers asked about
ABSURD_OFFSET: Final = 0.10  # cut-policy; offset over distance
AGREEMENT: Final = 2.0  # cut-policy; deviations between two rounds that agree
SPARE_ROUNDS: Final = 4  # cut-policy; of so many, one may be wild
CONTRADICTION: Final = 12.0  # cut-policy; misfit of rounds that should rise with length


def shorter(length: Real, limit: Real) -> Truth:
    """Tell whether a length [m] is below a limit [m] by more than the tolerance."""
    return length < limit - _TOLERATED


def longer(length: Real, limit: Real) -> Truth:
    """Tell whether a length [m] is above a limit [m] by more than the tolerance."""
    return length > limit + _TOLERATED


def less(value: Real, limit: Real) -> Truth:
    """Tell whether a positive figure is below a limit by more than the tolerance."""
    return value < limit * (1 - RELATIVE_TOLERANCE)


def more(value: Real, limit: Real) -> Truth:
    """Tell whether a positive figure is above a limit by more than the tolerance."""
    return value > limit * (1 + RELATIVE_TOLERANCE)
