"""What the rules found, as answers tell it."""

from __future__ import annotations

from drawmark.answers.common.context import Answer
from drawmark.rules.model import PRECEDENCE, Finding
from drawmark.rules.outcome import Attributed, Outcome


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
