"""How long an arrow must be."""

from __future__ import annotations

import msgspec

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, any_true, maximum
from drawmark.fitting.draw.control import least_allowance
from drawmark.fitting.facts import Facts


class Term(msgspec.Struct, frozen=True, gc=False):
    """One term of a sum.

    Every evaluation makes a dozen, so it is no dataclass: those take six times as long to make.

    Parameters
    ----------
    name : str
        What is added.
    value : float or column
        The term [m].
    source : str or None
        Key of its source.
    """

    name: str
    value: Real
    source: str | None = None


class CoreFloor(msgspec.Struct, frozen=True, gc=False):
    """A floor of the usable length.

    Parameters
    ----------
    id : str
        `bow-back`, `rest-retention` or `hand`.
    terms : tuple of Term
        What it is the sum of.
    """

    id: str
    terms: tuple[Term, ...]

    @property
    def length(self) -> Real:
        """Least usable length [m]."""
        total: Real = 0.0
        for term in self.terms:
            total = total + term.value
        return total


def floors_of(facts: Facts) -> tuple[CoreFloor, ...]:
    """List the floors of the usable length for a draw and its control.

    Parameters
    ----------
    facts : Facts
        Draw, allowance, back and rest [m].

    Returns
    -------
    tuple of CoreFloor
        The floors; the minimum is the largest.

    References
    ----------
    .. [1] margin-one-inch
    .. [2] prediction-interval
    .. [3] project-margin
    """
    draw = [
        Term("draw to the pivot point", facts.draw, "amo-draw-length")
        if not facts.estimated
        else Term("draw estimated from the arm span", facts.draw, "arm-span")
    ]
    if facts.estimated:
        draw.append(Term("margin for an estimated draw", limits.ARM_SPAN_MARGIN, "project-margin"))
    if facts.control in ("none", "settled"):
        draw.append(
            Term("growth allowance", facts.growth, "request")
            if facts.growth_given
            else Term("growth allowance (not given)", facts.growth)
        )
    least = least_allowance(facts.control)
    spread = Term(
        "spread of the draw",
        # Without a claimed control the floor is never shorter than with one.
        maximum(facts.allowance, least),
        "prediction-interval"
        if any_true(limits.longer(facts.allowance, least))
        else "project-margin",
    )
    back_source = "request" if facts.back_given else "amo-draw-length"
    rest = (
        *draw,
        spread,
        Term("rest position", facts.rest, "request")
        if facts.rest_given
        else Term("rest position, taken as the back of the bow", facts.rest, back_source),
        Term("margin on the rest", limits.RETENTION_MARGIN, "project-margin"),
    )
    floors = (
        CoreFloor("rest-retention", rest),
        CoreFloor("hand", (*draw, spread)),
    )
    if facts.control != "none":
        return floors
    wide = any_true(limits.longer(facts.allowance, limits.LEAST_OVERHANG))
    overhang = Term(
        "margin past the back of the bow",
        maximum(limits.LEAST_OVERHANG, facts.allowance),
        "prediction-interval" if wide else "margin-one-inch",
    )
    back = Term("back of the bow", facts.back, back_source)
    return (CoreFloor("bow-back", (*draw, back, overhang)), *floors)


def minimum_of(facts: Facts) -> Real:
    """Give the minimum safe arrow length of the core alone.

    Parameters
    ----------
    facts : Facts
        Draw, allowance, back, rest and collar [m].

    Returns
    -------
    float or column
        Largest floor and the collar [m].
    """
    least: Real = 0.0
    for floor in floors_of(facts):
        least = maximum(least, floor.length)
    return least + facts.sleeve
