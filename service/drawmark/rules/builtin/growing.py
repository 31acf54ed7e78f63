"""The rule of the core about a draw that was measured some time ago."""

from __future__ import annotations

from collections.abc import Iterable

from drawmark.fitting import limits
from drawmark.fitting.draw.growth_of_draw import growth_source, months_since, tells_growth
from drawmark.rules.model import Case, Finding, Measure, Said, Severity


def old_draw(case: Case) -> Iterable[Said]:
    """Say that an old draw was lengthened before it was used, or that nothing told by how much."""
    archer, months = case.archer, months_since(case.archer)
    if months <= 0:
        return
    moved = archer.draw_control in ("clicker", "draw_stop")
    severity: Severity = "caution" if moved or months > limits.FRESH_MONTHS else "note"
    if tells_growth(archer):
        yield Finding(
            severity=severity,
            message="The draw is not of today. It was lengthened for the growth since it was "
            "measured. Measure it again.",
            when=limits.longer(case.facts.growth_since_measured, 0.0),
            measured=Measure(case.facts.growth_since_measured, up=True),
            source=growth_source(archer),
            fields=("archer.measured_on",),
        )
        return
    yield Finding(
        severity=severity,
        message="The draw is not of today, and nothing says how fast it grows. It is used as it "
        "was. The figure is its age in months. Measure it again.",
        measured=Measure(months, "number"),
        source="growth-ages",
        fields=("archer.growth_rate", "archer.age"),
    )
