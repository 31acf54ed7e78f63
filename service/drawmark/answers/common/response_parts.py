"""Pieces that several answers share."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

import msgspec

from drawmark.answers.common import cautions
from drawmark.answers.common.context import Answer, Context
from drawmark.answers.common.minimum import minimum_length_of
from drawmark.fitting import limits
from drawmark.fitting.draw.control import exposed_of
from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.fitting.window import Window, window_of
from drawmark.rules.evaluate import evaluate
from drawmark.rules.model import PRECEDENCE, Finding, Measure
from drawmark.rules.outcome import Applied, Attributed, NotChecked, Outcome, Unevaluated


def evaluate_lengths(
    archer: Archer, bow: Bow, arrow: Arrow | None, context: Context, *, uncut: bool = False
) -> Outcome:
    """Run the rules that may set floors or ceilings; `uncut` as in `facts_of`."""
    fitting = Fitting(archer=archer, bow=bow, arrow=arrow)
    facts = facts_of(fitting, uncut=uncut)
    return evaluate(fitting, context.ruleset, context.local, lengths_only=True, facts=facts)


def evaluate_without_clicker(
    archer: Archer, bow: Bow, arrow: Arrow | None, context: Context, *, uncut: bool = False
) -> Outcome:
    """Run them as if the clicker that is claimed ended no draw."""
    plain = dataclasses.replace(archer, draw_control="none")
    outcome = evaluate_lengths(plain, bow, arrow, context, uncut=uncut)
    return claiming(outcome, archer.draw_control, refuted=True)


def claiming(outcome: Outcome, control: str, **shown: Any) -> Outcome:
    """Give what was said of no control as said of one that is claimed and does not count."""
    facts = msgspec.structs.replace(outcome.facts, claimed=control, **shown)
    return msgspec.structs.replace(outcome, facts=facts)


def window_in(
    outcome: Outcome, bow: Bow, arrow: Arrow | None, increment: float | None = None
) -> Window:
    """Give the recommended window above the minimum and below every ceiling."""
    ceilings = [float(placed.said.length) for placed in outcome.ceilings]
    return window_of(
        outcome.facts,
        bow,
        exposed_of(arrow),
        minimum_length_of(outcome),
        min(ceilings) if ceilings else None,
        increment,
    )


def longest_draw_response(draw: float, determinate: bool) -> Answer:
    """Give the longest safe draw, rounded down, under a name that tells whether it may be less."""
    name = "longest_safe_draw" if determinate else "longest_safe_draw_at_most"
    return {name: Measure(draw, down=True)}


def common_response(outcome: Outcome, context: Context, usual: Sequence[str]) -> Answer:
    """Give what every answer with rules carries."""
    return {
        "cautions": encode_texts((*usual, *cautions_about(outcome.facts))),
        "unevaluated": unevaluated_response(outcome.unevaluated),
        "not_checked": not_checked_response(
            (*outcome.not_checked, *growth_left_out(outcome.facts))
        ),
        "rules_applied": applied_response(outcome.applied),
        "ruleset": context.ruleset.name,
        "engine": engine_response(context),
    }


def cautions_about(facts: Facts) -> tuple[str, ...]:
    """Give the cautions that hang on what is known of the draw and on what ends it."""
    if facts.control == "clicker":
        return (cautions.MOVED_BLADE,)
    if facts.control == "draw_stop":
        return (cautions.MOVED_STOP,)
    if facts.control == "none" and (facts.count is None or facts.count < limits.SPREAD_COUNT):
        return (cautions.FEW_DRAWS,)
    return ()


def unevaluated_response(unevaluated: Sequence[Unevaluated]) -> list[Answer]:
    """List rules that should have spoken and could not."""
    return [{"plugin": one.plugin, "rule": one.rule, "reason": one.reason} for one in unevaluated]


def engine_response(context: Context) -> Answer:
    """Give name and version of the service."""
    return {"name": "drawmark", "version": context.engine}


@lru_cache(maxsize=1024)
def not_checked_response(several: tuple[NotChecked, ...]) -> msgspec.Raw:
    """List rules that were not run, and the fields that would allow them; encoded once."""
    return encode_not_checked(several)


def encode_not_checked(several: Sequence[NotChecked]) -> msgspec.Raw:
    """Give the same of a list that holds words of a request, which no cache should keep."""
    return msgspec.Raw(
        msgspec.json.encode(
            [
                {"what": one.what, "fields": one.fields, "plugin": one.plugin, "rule": one.rule}
                for one in several
            ]
        )
    )


@lru_cache(maxsize=256)
def encode_texts(texts: tuple[str, ...]) -> msgspec.Raw:
    """Give texts that are the same in every answer; encoded once."""
    return msgspec.Raw(msgspec.json.encode(texts))


@lru_cache(maxsize=16)
def sources_response(sources: tuple[tuple[str, str], ...]) -> msgspec.Raw:
    """Name the source behind each figure of an answer that has no terms; encoded once."""
    return msgspec.Raw(
        msgspec.json.encode([{"figure": figure, "source": key} for figure, key in sources])
    )


@lru_cache(maxsize=256)
def applied_response(applied: tuple[Applied, ...]) -> msgspec.Raw:
    """Give the plugins in force; encoded once."""
    return msgspec.Raw(
        msgspec.json.encode([{"plugin": one.plugin, "version": one.version} for one in applied])
    )


_GROWTH: Final = (
    NotChecked(
        "core",
        "minimum-length",
        "Growth of the draw until the next check.",
        ("archer.growth_allowance",),
    ),
)


def growth_left_out(facts: Facts) -> tuple[NotChecked, ...]:
    """List growth as not checked where no allowance was stated."""
    return () if facts.growth_given else _GROWTH


def draw_control_response(facts: Facts) -> Answer:
    """Give what ends the draw: as claimed, as it counts, and the fields that the claim lacks."""
    return {
        "claimed": facts.claimed,
        "counts": facts.control,
        "missing": list(facts.unshown),
        "allowance": Measure(facts.allowance),
    }


def deciding_of(outcome: Outcome) -> list[Attributed[Finding]]:
    """List the findings that made the verdict; none where it is a pass."""
    worst = PRECEDENCE[outcome.verdict]
    return [
        placed for placed in outcome.findings if worst and PRECEDENCE[placed.said.severity] == worst
    ]


def deciding_response(outcome: Outcome) -> list[Answer]:
    """Give the findings that made the verdict; none where it is a pass."""
    return [finding_response(placed) for placed in deciding_of(outcome)]


def finding_response(placed: Attributed[Finding]) -> Answer:
    """Give one finding."""
    finding = placed.said
    answer: Answer = {
        "rule": placed.rule,
        "plugin": placed.plugin,
        "severity": finding.severity,
        "message": finding.message,
    }
    if finding.measured is not None:
        answer["measured"] = finding.measured
    if finding.limit is not None:
        answer["limit"] = finding.limit
    if finding.source:
        answer["source"] = finding.source
    if finding.fields:
        answer["fields"] = list(finding.fields)
    return answer


def window_response(window: Window) -> Answer:
    """Give the recommended window and figure, or say that no length serves."""
    if window.figure is None:
        return {}
    longest = Measure(window.longest, down=True)
    if window.longest - window.shortest < limits.BLADE_WIDTH:
        # Rounded each to its safe side, its ends would change places.
        longest = Measure(window.figure, up=True)
    return {
        "recommended": Measure(window.figure, up=True),
        "window": {"shortest": Measure(window.shortest, up=True), "longest": longest},
    }
