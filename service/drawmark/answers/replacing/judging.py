"""What the rules say of many arrows in the hands of one archer, judged in columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from drawmark.answers.common.common_response import Aggregate
from drawmark.answers.common.context import Context
from drawmark.answers.common.findings import Finding, finding_response
from drawmark.answers.common.fit_check_columns import check_all
from drawmark.fitting.columns import MixedError, Whole
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.rules.batch_outcome import OutcomeColumns
from drawmark.rules.column_trees import group_alike, picker, stack_alike
from drawmark.rules.model import VERDICTS, Verdict


@dataclass(frozen=True, slots=True)
class Judged:
    """Verdict of an arrow, and the findings that decide it."""

    verdict: Verdict
    determinate: bool
    findings: list[Finding] = field(default_factory=list)

    @property
    def may_be_shot(self) -> bool:
        """Tell whether a fit check would neither stop the arrow nor leave it in doubt."""
        return self.verdict in ("pass", "caution")


def judge_arrows(
    archer: Archer, bow: Bow, arrows: Sequence[Arrow], context: Context, aggregate: Aggregate
) -> list[Judged]:
    """Judge each arrow as a single fit check would, and add what is said once of all."""
    judged: dict[int, Judged] = {}
    waiting = group_alike(arrows)
    while waiting:
        places = waiting.pop()
        fitting = Fitting(archer=archer, bow=bow, arrow=stack_alike([arrows[at] for at in places]))
        try:
            outcome = check_all(fitting, None, len(places), context).outcome
        except MixedError as mixed:
            waiting += [places[part] for part in mixed.parts]
            continue
        judged.update(zip(places.tolist(), _each(outcome, places), strict=True))
        for said in (outcome.common, *outcome.own.values()):
            aggregate.add_parts(said.unevaluated, said.not_checked)
    return [judged[at] for at in range(len(arrows))]


def _each(outcome: OutcomeColumns, places: Whole) -> list[Judged]:
    judged = [
        Judged(VERDICTS[severity], determinate)
        for severity, determinate in zip(
            outcome.severities.tolist(), outcome.determinate.tolist(), strict=True
        )
    ]
    for _, finding, items in sorted(outcome.deciding(), key=lambda one: one.place):
        pick = picker(finding)
        for at in items.tolist():
            judged[at].findings.append(finding_response(pick(at)))
    return judged
