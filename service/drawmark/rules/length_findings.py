"""Compares an arrow with the floors and ceilings that rules have set."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, both, maximum, negate
from drawmark.fitting.facts import Facts
from drawmark.rules.model import CORE, Ceiling, Finding, Floor, Measure
from drawmark.rules.outcome import Attributed, sentence

UNSHOWN = (
    "The arrow is too short unless the claimed draw control is shown. Give the fields that show it."
)
SHORT = "The arrow is shorter than the minimum safe length. Do not draw it."
_NEAR = "The arrow is within {} of the minimum safe length. Do not cut it any shorter."
NEAR = {
    "first_evenings": _NEAR.format("an inch"),
    "learning": _NEAR.format("half an inch"),
    "practised": _NEAR.format("half an inch"),
}
LONG = (
    "The arrow is longer than a local rule allows. That alone is no reason to cut it: ask the club."
)


def length_findings(
    facts: Facts, floors: Sequence[Attributed[Floor]], ceilings: Sequence[Attributed[Ceiling]]
) -> tuple[Attributed[Finding], ...]:
    """Say what floors and ceilings mean for the arrow."""
    if facts.usable_length is None:
        return ()
    return tuple(_findings(facts, facts.usable_length, floors, ceilings))


def _findings(
    facts: Facts,
    usable: Real,
    floors: Sequence[Attributed[Floor]],
    ceilings: Sequence[Attributed[Ceiling]],
) -> Iterator[Attributed[Finding]]:
    least: Real = 0.0
    for placed in floors:
        floor = placed.said
        least = maximum(least, floor.length)
        short = limits.shorter(usable, floor.length)
        if short is False:
            continue
        # A claim that was not shown may be true: then this floor would not apply.
        doubtful = bool(facts.unshown) and placed.plugin == CORE and floor.id == "bow-back"
        yield Attributed(
            placed.plugin,
            placed.rule,
            Finding(
                severity="indeterminate" if doubtful else "stop",
                message=f"{UNSHOWN if doubtful else SHORT} {sentence(floor.reason)}",
                when=short,
                measured=Measure(usable + facts.sleeve, down=True),
                limit=Measure(floor.length + facts.sleeve, up=True),
                source=floor.source,
                fields=facts.unshown if doubtful else ("arrow.length",),
            ),
        )
    near = both(
        negate(limits.shorter(usable, least)),
        limits.shorter(usable, least + limits.CAUTION_BAND[facts.experience]),
    )
    if floors and near is not False:
        yield Attributed(
            CORE,
            "minimum-length",
            Finding(
                severity="caution",
                message=NEAR[facts.experience],
                when=near,
                measured=Measure(usable + facts.sleeve),
                limit=Measure(least + facts.sleeve, up=True),
                source="project-margin",
                fields=("arrow.length",),
            ),
        )
    for ceiling in ceilings:
        long = limits.longer(usable + facts.sleeve, ceiling.said.length)
        if long is False:
            continue
        yield Attributed(
            ceiling.plugin,
            ceiling.rule,
            Finding(
                severity="caution",
                message=f"{LONG} {sentence(ceiling.said.reason)}",
                when=long,
                measured=Measure(usable + facts.sleeve),
                limit=Measure(ceiling.said.length),
                source=ceiling.said.source,
                fields=("arrow.length",),
            ),
        )
