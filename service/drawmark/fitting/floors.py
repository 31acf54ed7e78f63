"""How long an arrow must be."""

from __future__ import annotations

import msgspec
from msgspec.structs import replace

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, any_true, maximum
from drawmark.fitting.draw.spread import allowance_for_spread
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
    .. [2] spread-prediction
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
    spread = Term("spread of the draw", facts.allowance, _source_of(facts.allowance, facts.control))
    back_source = "request" if facts.back_given else "amo-draw-length"
    margin = Term("margin on the rest", limits.RETENTION_MARGIN, "project-margin")
    if facts.rest_given:
        rest = (spread, Term("rest position", facts.rest, "request"), margin)
    else:
        # As far forward as a rest may be: the inch past the back is not added to that.
        alone = "settled" if facts.control == "none" else facts.control
        source = _source_of(facts.spread_allowance, alone)
        rest = (
            Term("spread of the draw", facts.spread_allowance, source),
            Term("rest position, taken as the back of the bow", facts.rest, back_source),
            margin,
        )
    floors = (CoreFloor("rest-retention", (*draw, *rest)), CoreFloor("hand", (*draw, spread)))
    if facts.control != "none":
        return floors
    back = Term("back of the bow", facts.back, back_source)
    return (CoreFloor("bow-back", (*draw, back, spread)), *floors)


def _source_of(allowance: Real, control: str) -> str:
    if any_true(limits.longer(allowance, limits.BASE_ALLOWANCE[control])):
        return "spread-prediction"
    return "margin-one-inch" if control == "none" else "project-margin"


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


def with_control(facts: Facts, control: str) -> Facts:
    """Give the facts as if another control ended the draw.

    Parameters
    ----------
    facts : Facts
        What is known of the draws [m].
    control : str
        One of `model.CONTROLS`.

    Returns
    -------
    Facts
        The same with that control and its allowance.
    """
    base = limits.BASE_ALLOWANCE[control]
    predicted = allowance_for_spread(base, facts.variation, facts.count)
    allowance = maximum(predicted, facts.longest_draw - facts.draw)
    return replace(facts, control=control, allowance=allowance)
