"""What ends the draw at the same length each time, as far as the fields show it."""

from __future__ import annotations

import msgspec

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, Truth, alike, both, maximum, negate
from drawmark.fitting.draw.draw_length import Spread
from drawmark.fitting.draw.spread import allowance_for_spread
from drawmark.fitting.model import Archer, Arrow, Bow

_CLICKER_FIELDS = (
    ("bow.rest_position", lambda bow, arrow: bow.rest_position),
    ("bow.clicker_range", lambda bow, arrow: bow.clicker_range),
    ("arrow.point.exposed_length", lambda bow, arrow: exposed_of(arrow)),
)


class Control(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The control that counts, and the one that was claimed.

    Parameters
    ----------
    counts : str
        Control that the fields show: one of `model.CONTROLS`.
    claimed : str
        Control that the request states.
    unshown : tuple of str
        Fields that the claim lacks.
    refuted : bool
        The fields are there and show that the clicker cannot end the draw of this arrow.
    allowance : float or column
        Allowance V for the spread of the draw [m].
    spread_allowance : float or column
        The same of the spread alone: without a control that counts, as if the draw were settled,
        so without the inch that is usual [m].
    few_vary : bool or mask
        Few draws are known, and they vary widely.
    """

    counts: str
    claimed: str
    unshown: tuple[str, ...]
    refuted: bool
    allowance: Real
    spread_allowance: Real
    few_vary: Truth

    def stricter(self, other: Control) -> Control:
        """Give the one that shows less: of two, one that counts as no control."""
        if other.refuted > self.refuted or (other.counts == "none" and not self.refuted):
            return other
        return self


def exposed_of(arrow: Arrow | None) -> Real | None:
    """Exposed length of the point [m], None where not given."""
    return None if arrow is None or arrow.point is None else arrow.point.exposed_length


def tip_reaches(bow: Bow, arrow: Arrow, draw: Real) -> Truth:
    """Tell whether the tip of an arrow leaves the clicker's blade somewhere in its range.

    Parameters
    ----------
    bow : Bow
        With its clicker range [m].
    arrow : Arrow
        With its length and the point's exposed length [m].
    draw : float or column
        Draw to the pivot point [m].

    Returns
    -------
    bool or mask
        True where near <= length + exposed - draw <= far, give or take the blade's width.
    """
    return both(tip_passes(bow, arrow, draw), negate(tip_beyond(bow, arrow, draw)))


def tip_beyond(bow: Bow, arrow: Arrow, draw: Real) -> Truth:
    """Tell whether the tip is past the furthest place of the blade."""
    assert bow.clicker_range is not None
    return limits.longer(_tip_of(arrow, draw), bow.clicker_range.far + limits.BLADE_WIDTH)


def tip_passes(bow: Bow, arrow: Arrow, draw: Real) -> Truth:
    """Tell whether the tip reaches the nearest place of the blade, or would once it is cut."""
    assert bow.clicker_range is not None
    return negate(limits.shorter(_tip_of(arrow, draw), bow.clicker_range.near - limits.BLADE_WIDTH))


def _tip_of(arrow: Arrow, draw: Real) -> Real:
    exposed = exposed_of(arrow)
    assert exposed is not None
    assert arrow.length is not None
    return arrow.length + exposed - draw


def control_of(
    archer: Archer,
    bow: Bow,
    arrow: Arrow | None,
    spread: Spread,
    *,
    uncut: bool = False,
    grown: Truth = False,
) -> Control:
    """Decide which control counts, and the allowance for the spread that goes with it.

    Parameters
    ----------
    archer : Archer
        With the claimed control.
    bow : Bow
        The bow.
    arrow : Arrow or None
        The arrow; where its length is given, its tip must lie in the clicker's range.
    spread : Spread
        What is known of the draws.
    uncut : bool
        The arrow may still be cut, so a clicker is not refuted by too long an arrow.
    grown : bool or mask
        The draws are lengthened by growth, so that today's is not known. An arrow that may still
        be cut is then not shown to reach the clicker.

    Returns
    -------
    Control
        The control that counts; alike throughout a column.

    References
    ----------
    .. [1] spread-prediction
    .. [2] project-margin
    """
    claimed = archer.draw_control
    unshown: tuple[str, ...] = ()
    refuted = False
    if claimed == "settled":
        count = spread.count
        # An estimate from the arm span is not a measured draw, whatever draw_count says.
        if spread.estimated or count is None or not alike(count >= limits.SETTLED_COUNT):
            unshown = ("archer.draws",)
    elif claimed == "draw_stop":
        if bow.kind != "compound":
            unshown = ("bow.kind",)
        if spread.estimated:
            unshown = (*unshown, "archer.draw_length")
    elif claimed == "clicker":
        unshown = tuple(name for name, read in _CLICKER_FIELDS if read(bow, arrow) is None)
        if spread.estimated:
            # The tip of an estimate may lie inches off the blade.
            unshown = (*unshown, "archer.draw_length")
        if spread.slack:
            # So may the tip where the draw to the pivot point is not known.
            unshown = (*unshown, "bow.back_position")
        if (uncut or arrow is None or arrow.length is None) and alike(grown):
            # Cut for the lengthened draw, it may lie beyond the blade at the one measured.
            unshown = (*unshown, "archer.draw_length")
        if not unshown and arrow is not None and arrow.length is not None:
            # Nothing can be added to an arrow, so one too short for the blade stays too short.
            reaches = tip_passes if uncut else tip_reaches
            refuted = not alike(reaches(bow, arrow, spread.mean))
    counts = "none" if unshown or refuted else claimed
    allowance = _allowance(counts, spread)
    return Control(
        counts=counts,
        claimed=claimed,
        unshown=unshown,
        refuted=refuted,
        allowance=allowance,
        spread_allowance=_allowance("settled", spread) if counts == "none" else allowance,
        few_vary=_few_vary(counts, spread, allowance),
    )


def _allowance(control: str, spread: Spread) -> Real:
    base = limits.BASE_ALLOWANCE[control]
    allowance = allowance_for_spread(base, spread.deviation, spread.count)
    if spread.seen is not None:
        # A draw that was made once can be made again, however rare it seems.
        allowance = maximum(allowance, spread.seen - spread.mean)
    return allowance


def _few_vary(control: str, spread: Spread, allowance: Real) -> Truth:
    if spread.count is None:
        return False
    wide = limits.longer(allowance, limits.WIDE_ALLOWANCE[control])
    return both(spread.count < limits.FEW_DRAWS, wide)
