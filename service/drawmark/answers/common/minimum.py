"""The minimum safe length in an answer: its figure, its floors and their terms."""

from __future__ import annotations

from typing import Annotated, Final, NotRequired, TypedDict

from drawmark.answers.common.answer_types import (
    Length,
    PluginName,
    RuleName,
    SourceKey,
    Status,
    status_of,
)
from drawmark.fitting import limits
from drawmark.fitting.columns import Real, maximum
from drawmark.fitting.columns import minimum as smaller
from drawmark.fitting.draw.control import exposed_of
from drawmark.fitting.facts import Facts
from drawmark.fitting.floors import CoreFloor, Term, floors_of, minimum_of, with_control
from drawmark.fitting.model import Arrow, Bow
from drawmark.fitting.rounding import round_up
from drawmark.fitting.window import clicker_window, nearest_safe_blade
from drawmark.rules import model
from drawmark.rules.model import CORE, Measure
from drawmark.rules.outcome import Attributed, Outcome

CLICKER_FLOOR: Final = "clicker-range"
NOT_REACHED: Final = "A shorter arrow does not reach the clicker, which then does not end the draw."
NOT_SAFE_WITHOUT: Final = "An arrow that does not reach the clicker must be safe without it."


class DerivationTerm(TypedDict):
    "One term of a sum of lengths."

    term: Annotated[str, "What is added."]
    value: Annotated[Length, "Length that is added."]
    source: NotRequired[SourceKey]


class Floor(TypedDict):
    "The shortest safe length by one rule, and why."

    id: Annotated[str, "Name of the floor."]
    plugin: PluginName
    rule: RuleName
    length: Annotated[Length, "Shortest safe arrow length by this floor."]
    reason: Annotated[str, "Why."]
    terms: Annotated[list[DerivationTerm], "Terms of its sum."]
    source: NotRequired[SourceKey]


Derivation = Annotated[list[DerivationTerm], "How the figures were worked out."]
MinimumOnSaw = Annotated[
    Length,
    "`minimum` rounded up to a multiple of `saw_increment`. Left out with `minimum_at_least`.",
]


class MinimumFigure(TypedDict):
    """The minimum; the name says whether a floor may be missing."""

    minimum: NotRequired[
        Annotated[
            Length,
            "Minimum safe arrow length, rounded up. Do not draw a shorter arrow. Given only if "
            "`status` is `determinate`.",
        ]
    ]
    minimum_at_least: NotRequired[
        Annotated[
            Length,
            "Given in place of `minimum` if a floor may be missing. Do not draw a shorter arrow. "
            "A longer one may still be unsafe.",
        ]
    ]


class Minimum(MinimumFigure):
    """The minimum, and on the saw."""

    status: Status
    minimum_on_saw: NotRequired[MinimumOnSaw]


class MinimumWithoutClicker(TypedDict):
    """The minimum of an arrow that does not reach the clicker."""

    minimum_without_clicker: NotRequired[
        Annotated[
            Length,
            "Minimum of an arrow that does not reach the clicker. An arrow too long for the "
            "clicker must be at least this long.",
        ]
    ]
    minimum_without_clicker_at_least: NotRequired[
        Annotated[Length, "Given in place of `minimum_without_clicker` if a floor may be missing."]
    ]


class NearestBlade(TypedDict):
    """Where the clicker's blade may be."""

    nearest_safe_blade: NotRequired[
        Annotated[
            Length,
            "Shortest distance of the clicker's blade from the pivot point at which an arrow "
            "that reaches it is long enough.",
        ]
    ]


def minimum_length_of(outcome: Outcome) -> float:
    """Give the largest floor as an arrow length, local rules and a collar included [m]."""
    return float(outcome.minimum_usable + outcome.facts.sleeve)


def clicker_reach(facts: Facts, bow: Bow, arrow: Arrow | None) -> tuple[Real, Real] | None:
    """Give the lengths that reach a clicker which counts [m]; None where none does."""
    reach = exposed_of(arrow)
    if facts.control != "clicker" or reach is None:
        return None
    return clicker_window(facts, bow, reach)


def shortest_safe(minimum: Real, facts: Facts, bow: Bow, arrow: Arrow | None) -> Real:
    """Give the least length that is safe [m]: the floors of a clicker hold where it is reached."""
    reach = clicker_reach(facts, bow, arrow)
    if reach is None:
        return minimum
    return maximum(minimum, smaller(reach[0], minimum_of(with_control(facts, "none"))))


def reaches_no_safe_arrow(outcome: Outcome, bow: Bow, arrow: Arrow | None) -> bool:
    """Tell whether the clicker ends no draw of any arrow as long as the minimum that it allows."""
    reach = clicker_reach(outcome.facts, bow, arrow)
    return reach is not None and bool(limits.shorter(reach[1], minimum_length_of(outcome)))


def minimum_response(
    outcome: Outcome, bow: Bow, arrow: Arrow | None, increment: float | None = None
) -> Minimum:
    """Give the minimum, named by whether a floor may be missing, and rounded to the saw."""
    minimum = float(shortest_safe(minimum_length_of(outcome), outcome.facts, bow, arrow))
    answer: Minimum = {"status": status_of(outcome.determinate)}
    if not outcome.determinate:
        # Beside a minimum that may be more, no mark of the saw is known to be one.
        answer["minimum_at_least"] = Measure(minimum, up=True)
        return answer
    answer["minimum"] = Measure(minimum, up=True)
    if increment is not None:
        answer["minimum_on_saw"] = Measure(round_up(minimum, increment), up=True)
    return answer


def without_clicker_response(outcome: Outcome | None) -> MinimumWithoutClicker:
    """Give the minimum of an arrow whose tip is not on the clicker's blade; nothing without one."""
    if outcome is None:
        return {}
    figure = Measure(minimum_length_of(outcome), up=True)
    if outcome.determinate:
        return {"minimum_without_clicker": figure}
    return {"minimum_without_clicker_at_least": figure}


def blade_response(outcome: Outcome, arrow: Arrow | None) -> NearestBlade:
    """Give the nearest safe blade where a clicker counts."""
    reach = exposed_of(arrow)
    if outcome.facts.control != "clicker" or reach is None:
        return {}
    at = nearest_safe_blade(outcome.facts, float(reach), minimum_length_of(outcome))
    return {"nearest_safe_blade": Measure(at, up=True)}


def floors_response(outcome: Outcome, bow: Bow, arrow: Arrow | None) -> list[Floor]:
    """List the floors with their terms, the largest first."""
    sleeve, longer = outcome.facts.sleeve, _longer_floor(outcome, bow, arrow)
    floors = sorted(outcome.floors, key=lambda placed: -float(placed.said.length))
    return [
        *([] if longer is None else [_floor_response(*longer)]),
        *(_floor_response(placed, sleeve) for placed in floors),
    ]


def derivation_response(outcome: Outcome, bow: Bow, arrow: Arrow | None) -> list[DerivationTerm]:
    """List the terms of the floor that decides the minimum."""
    longer = _longer_floor(outcome, bow, arrow)
    if longer is not None:
        return _terms_response(longer[0].said, longer[1])
    if not outcome.floors:
        return []
    deciding = max(outcome.floors, key=lambda placed: float(placed.said.length))
    return _terms_response(deciding.said, outcome.facts.sleeve)


def _longer_floor(
    outcome: Outcome, bow: Bow, arrow: Arrow | None
) -> tuple[Attributed[model.Floor], Real] | None:
    """What a clicker asks for beyond every floor, and what is to be added for an arrow length."""
    facts, reach = outcome.facts, clicker_reach(outcome.facts, bow, arrow)
    if reach is None:
        return None
    minimum = minimum_length_of(outcome)
    if not limits.longer(shortest_safe(minimum, facts, bow, arrow), minimum):
        return None
    without = max(floors_of(with_control(facts, "none")), key=lambda floor: float(floor.length))
    if limits.longer(reach[0], without.length + facts.sleeve):
        return _core_floor("minimum-length", without, NOT_SAFE_WITHOUT), facts.sleeve
    return _core_floor("clicker-reach", _reaching(facts, bow, arrow), NOT_REACHED), 0.0


def _reaching(facts: Facts, bow: Bow, arrow: Arrow | None) -> CoreFloor:
    assert bow.clicker_range is not None
    return CoreFloor(
        CLICKER_FLOOR,
        (
            Term("draw to the pivot point", facts.draw, "amo-draw-length"),
            Term("nearest place of the clicker's blade", bow.clicker_range.near, "request"),
            Term("less the exposed length of the point", -(exposed_of(arrow) or 0.0), "request"),
        ),
    )


def _core_floor(rule: str, floor: CoreFloor, reason: str) -> Attributed[model.Floor]:
    said = model.Floor(id=floor.id, length=floor.length, reason=reason, terms=floor.terms)
    return Attributed(CORE, rule, said)


def _floor_response(placed: Attributed[model.Floor], sleeve: Real) -> Floor:
    floor = placed.said
    answer: Floor = {
        "id": floor.id or placed.rule,
        "plugin": placed.plugin,
        "rule": placed.rule,
        "length": Measure(floor.length + sleeve, up=True),
        "reason": floor.reason,
        "terms": _terms_response(floor, sleeve),
    }
    if floor.source:
        answer["source"] = floor.source
    return answer


def _terms_response(floor: model.Floor, sleeve: Real) -> list[DerivationTerm]:
    terms = [_term(term.name, term.value, term.source) for term in floor.terms]
    if not terms:
        # A local rule need not say what its floor is the sum of.
        terms.append(_term(floor.reason, floor.length, floor.source))
    if sleeve:
        terms.append(_term("collar that slides back", sleeve, "request"))
    return terms


def _term(name: str, value: Real, source: str | None) -> DerivationTerm:
    answer: DerivationTerm = {"term": name, "value": Measure(value)}
    if source:
        answer["source"] = source
    return answer
