"""Asks the rules of a rule set about a fitting, and takes the strictest of what they say."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from drawmark.deadline import deadline
from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.model import Fitting
from drawmark.rules.collector import Collector
from drawmark.rules.length_findings import length_findings
from drawmark.rules.model import VERDICTS
from drawmark.rules.outcome import Outcome
from drawmark.rules.rule_call import NOTHING
from drawmark.rules.rule_set import RuleSet


def evaluate(
    fitting: Fitting,
    ruleset: RuleSet,
    local: Mapping[str, object] = NOTHING,
    lengths_only: bool = False,
    facts: Facts | None = None,
    again: bool = False,
) -> Outcome:
    """Evaluate a fitting; `again`: the same rules were asked before for this request.

    The core's rules speak first, then those of the plugins; of all that they say only the
    larger floor and the worse verdict are taken.
    """
    deadline.check()
    if facts is None:
        facts = facts_of(fitting)
    # A rule may go round what guards its case: the core's verdict stands on a copy.
    standing = replace(facts)
    said = Collector.of(ruleset)
    said.ask(ruleset.groups, fitting, facts, local, lengths_only=lengths_only, again=again)
    said.length_findings = length_findings(standing, said.floors, said.ceilings)
    return Outcome(
        facts=standing,
        floors=tuple(said.floors),
        ceilings=tuple(said.ceilings),
        findings=(*said.findings, *said.length_findings),
        not_checked=tuple(said.not_checked),
        unevaluated=ruleset.in_order(said.unevaluated),
        applied=ruleset.applied,
        minimum_usable=said.least_length,
        verdict=VERDICTS[said.worst],
        determinate=said.determinate,
    )
