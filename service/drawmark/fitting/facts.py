"""The figures of a fitting that every rule starts from."""

from __future__ import annotations

import warnings
from typing import Final

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, Truth, any_true, maximum, where
from drawmark.fitting.draw.control import control_of
from drawmark.fitting.draw.draw_length import Spread, back_of, spread_of
from drawmark.fitting.draw.draw_weight import draw_weights_of
from drawmark.fitting.draw.growth_of_draw import growth_since, may_still_grow, months_since
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.mechanics.arrow_facts import ArrowFacts, arrow_facts_of
from drawmark.fitting.mechanics.arrow_validation import faults_of
from drawmark.fitting.mechanics.launch import launch_load
from drawmark.fitting.model import Archer, Bow, Fitting

RENAMED: Final = {"mean_draw": "draw"}
"""Older names of facts, which warn, and the names to use instead."""
_NO_ARROW: Final = ArrowFacts()


class Facts(ArrowFacts, frozen=True, kw_only=True, gc=False):
    """Figures worked out of a fitting; None where what they need was not given.

    Parameters
    ----------
    arrow_mass : float, column or None
        Mass of the whole arrow, weighed or else summed [kg].
    front_of_centre : float, column or None
        Front of centre, measured or else from the parts [%].
    launch_force : float, column or None
        Critical launch force; worked out where there is a draw weight [N].
    draw : float or column
        Draw to the pivot point: the one stated, or the mean of several [m].
    longest_draw : float or column
        The longest draw known to have been made; not below `draw` [m].
    estimated : bool
        The draw is an estimate from the arm span.
    variation : float, column or None
        Standard deviation of the draw [m].
    count : float, column or None
        Number of draws behind it.
    control : str
        What ends the draw, as far as the fields show it.
    unshown : tuple of str
        Fields that the claimed control lacks; not empty means it counts as none.
    allowance : float or column
        Allowance V for the spread of the draw [m].
    growth : float or column
        Growth allowance, 0 where not given [m].
    back : float or column
        x of the back of the bow [m].
    rest : float or column
        x of the rest [m].
    sleeve : float or column
        Length of a collar that slides back over the shaft [m].
    usable_length : float, column or None
        Arrow length less the collar [m].
    draw_weight : float, column or None
        Draw weight at this archer's draw; where it is estimated the heaviest it may be [N].
    launch_load : float, column or None
        Draw weight over critical launch force [1].
    claimed : str
        Control that the request states.
    refuted : bool
        A clicker's fields are there and show that it cannot end the draw of this arrow.
    growth_given, rest_given, back_given, sleeve_given : bool
        The growth allowance, the rest position from the pivot point, the back position and the
        point's collar were stated.
    experience : str
        One of `model.EXPERIENCES`.
    experience_given : bool
        It was stated.
    draw_slack : float
        How much longer than `draw` the draw may be, since it was measured to a back of the bow
        whose place is not known [m].
    spread_allowance : float or column
        Allowance for the spread alone: where no control counts, that of a settled draw [m].
    few_vary : bool or mask
        Few draws are known, and they vary widely.
    least_draw_weight : float, column or None
        The lightest that it may be [N].
    growth_since_measured : float or column
        How much `draw` was lengthened from an old measurement to today [m].
    growing : bool or mask
        A growth rate or an age says that the draw still gets longer.
    """

    draw: Real
    longest_draw: Real
    estimated: bool
    variation: Real | None
    count: Real | None
    control: str
    unshown: tuple[str, ...]
    allowance: Real
    growth: Real
    back: Real
    rest: Real
    sleeve: Real
    usable_length: Real | None
    draw_weight: Real | None
    launch_load: Real | None
    claimed: str = "none"
    refuted: bool = False
    growth_given: bool = False
    rest_given: bool = False
    back_given: bool = False
    sleeve_given: bool = False
    experience: str = "learning"
    experience_given: bool = False
    draw_slack: float = 0.0
    spread_allowance: Real = 0.0
    few_vary: Truth = False
    least_draw_weight: Real | None = None
    growth_since_measured: Real = 0.0
    growing: Truth = False

    @property
    def mean_draw(self) -> Real:
        """The same as `draw`, under its older name."""
        warnings.warn("Use draw in place of mean_draw.", DeprecationWarning, stacklevel=2)
        return self.draw


def facts_of(
    fitting: Fitting,
    *,
    uncut: bool = False,
    arrow_facts: ArrowFacts | None = None,
    spread: Spread | None = None,
) -> Facts:
    """Work out the figures of a fitting.

    Parameters
    ----------
    fitting : Fitting
        Archer and bow, and what is known of the arrow [SI].
    uncut : bool
        The arrow may still be cut, so a clicker is not refuted by too long an arrow.
    arrow_facts : ArrowFacts, optional
        Figures of the same arrow, in which nothing contradicts itself, if they are known.
    spread : Spread, optional
        What is known of the same archer's draws, if that is worked out already.

    Returns
    -------
    Facts
        The figures; those whose fields were not given are None.

    Raises
    ------
    FittingError
        If fields are missing or contradict each other.

    References
    ----------
    .. [1] amo-draw-length
    .. [2] force-per-inch
    """
    archer, bow, arrow = fitting.archer, fitting.bow, fitting.arrow
    if archer is None or bow is None:
        name = "archer" if archer is None else "bow"
        raise FittingError(Fault(path=(name,), detail="This is needed."))
    verify_archer(archer, bow)
    if arrow is not None and arrow_facts is None and (faults := faults_of(arrow)):
        raise FittingError(*faults)
    spread = measured = spread or spread_of(archer, bow)
    since: Real = 0.0
    control = control_of(archer, bow, arrow, measured, uncut=uncut)
    if months_since(archer) > 0:
        since = growth_since(archer)
        spread = measured.grown(since)
        # The draw of today lies between the two, so a control counts only if both show it.
        longer = limits.longer(since, 0.0)
        at_longest = control_of(archer, bow, arrow, spread, uncut=uncut, grown=longer)
        control = control.stricter(at_longest)
    draw, back = spread.mean, back_of(bow)
    rest, rest_given = back, bow.rest_position is not None
    if bow.rest_position is not None:
        rest = bow.rest_position
    if rest_given and spread.slack:
        # The pivot point that the rest was measured from may lie further back than assumed: the
        # rest is taken at the back of the bow, or where it asks for more than that.
        ahead = limits.BASE_ALLOWANCE["none"] - limits.BASE_ALLOWANCE["settled"]
        rest = rest + where(rest > back, spread.slack, 0.0)
        rest = maximum(back, rest + ahead if control.counts == "none" else rest)
        rest_given = False
    sleeve = None
    if arrow is not None and arrow.point is not None:
        sleeve = arrow.point.sleeve_length
    length = None if arrow is None else arrow.length
    reach = limits.ARM_SPAN_MARGIN if spread.estimated else spread.slack
    lightest, weight = draw_weights_of(bow, measured.mean, draw + reach, since)
    if arrow_facts is None:
        pushed = weight is not None
        arrow_facts = _NO_ARROW if arrow is None else arrow_facts_of(arrow, pushed=pushed)
    force = arrow_facts.launch_force
    return Facts(
        draw=draw,
        longest_draw=draw if spread.seen is None else spread.seen,
        estimated=spread.estimated,
        variation=spread.deviation,
        count=spread.count,
        control=control.counts,
        unshown=control.unshown,
        allowance=control.allowance,
        spread_allowance=control.spread_allowance,
        few_vary=control.few_vary,
        growth=0.0 if archer.growth_allowance is None else archer.growth_allowance,
        back=back,
        rest=rest,
        sleeve=0.0 if sleeve is None else sleeve,
        usable_length=length if length is None or sleeve is None else length - sleeve,
        draw_weight=weight,
        least_draw_weight=lightest,
        arrow_mass=arrow_facts.arrow_mass,
        front_of_centre=arrow_facts.front_of_centre,
        launch_force=force,
        launch_load=None if weight is None or force is None else launch_load(weight, force),
        claimed=control.claimed,
        refuted=control.refuted,
        growth_given=archer.growth_allowance is not None,
        rest_given=rest_given,
        back_given=bow.back_position is not None,
        sleeve_given=sleeve is not None,
        experience=archer.experience or "learning",
        experience_given=archer.experience is not None,
        draw_slack=spread.slack,
        growth_since_measured=since,
        growing=may_still_grow(archer),
    )


def verify_archer(archer: Archer, bow: Bow) -> None:
    """Raise FittingError for fields of archer and bow that contradict each other."""
    faults = []
    if archer.draw_length is not None and archer.draws is not None:
        faults.append(("archer", "draws", "Give draw_length or draws, not both."))
    if archer.draws is not None and archer.draw_variation is not None:
        faults.append(
            (
                "archer",
                "draw_variation",
                "The draws themselves show how they vary. Give draws or draw_variation, not both.",
            )
        )
    if (archer.draw_variation is None) != (archer.draw_count is None):
        missing = "draw_count" if archer.draw_count is None else "draw_variation"
        faults.append(("archer", missing, "Give draw_variation and draw_count together."))
    if bow.draw_weight is not None and bow.draw_weight_basis is None:
        faults.append(("bow", "draw_weight_basis", "This is needed beside draw_weight."))
    if bow.draw_weight is None and bow.draw_weight_basis is not None:
        faults.append(("bow", "draw_weight", "This is needed beside draw_weight_basis."))
    faults += _faults_of_days(archer)
    told = [Fault(path=(part, name), detail=why) for part, name, why in faults]
    blade = bow.clicker_range
    if blade is not None and any_true(crossed := limits.longer(blade.near, blade.far)):
        path = ("bow", "clicker_range")
        told.append(
            Fault(
                path=path,
                detail="The range is reversed: near must not be beyond far.",
                when=crossed,
            )
        )
    if told:
        raise FittingError(*told)


def _faults_of_days(archer: Archer) -> list[tuple[str, str, str]]:
    if archer.measured_on is not None and archer.today is None:
        return [("archer", "today", "This is needed beside measured_on.")]
    months = months_since(archer)
    if months < 0:
        return [("archer", "measured_on", "This is later than today.")]
    if months > limits.MOST_SAFE_MONTHS:
        return [("archer", "measured_on", "This is more than ten years ago. Measure the draw.")]
    return []
