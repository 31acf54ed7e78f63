"""What an answer about many fittings carries, aggregate from what was said of each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from drawmark.answers.common.context import Answer, Context
from drawmark.answers.common.response_parts import (
    applied_response,
    cautions_about,
    encode_not_checked,
    encode_texts,
    engine_response,
    growth_left_out,
    unevaluated_response,
)
from drawmark.fitting.facts import Facts
from drawmark.rules.outcome import NotChecked, Outcome, Unevaluated


class Aggregate:
    """Collects from many outcomes what the answer says once."""

    def __init__(self) -> None:
        self._unevaluated: dict[tuple[str, str], Unevaluated] = {}
        self._not_checked: dict[tuple[str, str, tuple[str, ...]], NotChecked] = {}
        self._facts: list[Facts] = []
        self.determinate = True

    def add(self, outcome: Outcome) -> None:
        """Add what was said of one fitting."""
        self.add_parts(outcome.unevaluated, outcome.not_checked)
        self._facts.append(outcome.facts)
        self.determinate = self.determinate and outcome.determinate

    def add_parts(
        self, unevaluated: Iterable[Unevaluated], not_checked: Iterable[NotChecked]
    ) -> None:
        """Add rules that could not speak, and rules that lacked fields."""
        for failed in unevaluated:
            self._unevaluated.setdefault((failed.plugin, failed.rule), failed)
        for lacking in not_checked:
            key = (lacking.plugin, lacking.rule, lacking.fields)
            self._not_checked.setdefault(key, lacking)

    def add_facts(self, facts: Sequence[Facts]) -> None:
        """Add what is known of archers, for what it says of their growth."""
        self._facts.extend(facts)

    def response(self, context: Context, cautions: Sequence[str], *further: NotChecked) -> Answer:
        """Give what every answer carries."""
        lacking = [one for _, one in sorted(self._not_checked.items())]
        growth = next((left for facts in self._facts if (left := growth_left_out(facts))), ())
        hanging = dict.fromkeys(words for facts in self._facts for words in cautions_about(facts))
        return {
            "cautions": encode_texts((*cautions, *hanging)),
            "unevaluated": unevaluated_response(
                [one for _, one in sorted(self._unevaluated.items())]
            ),
            "not_checked": encode_not_checked((*lacking, *further, *growth)),
            "rules_applied": applied_response(context.ruleset.applied),
            "ruleset": context.ruleset.name,
            "engine": engine_response(context),
        }

    @property
    def status(self) -> str:
        """Tell whether a floor may be missing anywhere."""
        return "determinate" if self.determinate else "indeterminate"


def demand_response(outcome: Outcome, name: str) -> Answer:
    """Name the rule and the floor that ask for the most; nothing where no rule set a floor."""
    if not outcome.floors:
        return {}
    placed = max(outcome.floors, key=lambda one: float(one.said.length))
    said = {"plugin": placed.plugin, "rule": placed.rule, "floor": placed.said.id or placed.rule}
    return {name: {**said, "reason": placed.said.reason}}
