"""What the rules found, in an answer."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, NotRequired, TypedDict

from drawmark.answers.common.answer_types import PluginName, RuleName, SourceKey
from drawmark.rules import model
from drawmark.rules.model import PRECEDENCE, Measure, Severity
from drawmark.rules.outcome import Attributed, Outcome


class Finding(TypedDict):
    """What one rule found."""

    rule: RuleName
    plugin: PluginName
    severity: Annotated[Severity, "Effect on the verdict. A `note` has none."]
    message: Annotated[str, "What was found and what to do next."]
    measured: NotRequired[Annotated[Measure, "The figure that was judged."]]
    limit: NotRequired[Annotated[Measure, "The limit it was compared with."]]
    source: NotRequired[SourceKey]
    fields: NotRequired[
        Annotated[list[str], "Paths of the request's fields that are at fault or missing."]
    ]


def deciding_of(outcome: Outcome) -> list[Attributed[model.Finding]]:
    """List the findings that made the verdict; none where it is a pass."""
    worst = PRECEDENCE[outcome.verdict]
    return [
        placed for placed in outcome.findings if worst and PRECEDENCE[placed.said.severity] == worst
    ]


def deciding_response(outcome: Outcome) -> list[Finding]:
    """Give the findings that made the verdict; none where it is a pass."""
    return findings_response(deciding_of(outcome))


def findings_response(findings: Iterable[Attributed[model.Finding]]) -> list[Finding]:
    """Give findings, the worst first."""
    worst_first = sorted(findings, key=lambda one: -PRECEDENCE[one.said.severity])
    return [finding_response(placed) for placed in worst_first]


def finding_response(placed: Attributed[model.Finding]) -> Finding:
    """Give one finding."""
    finding = placed.said
    answer: Finding = {
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
