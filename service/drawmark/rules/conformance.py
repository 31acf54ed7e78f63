"""What every plugin must keep to, tried on random fittings."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Final

from drawmark.fitting.fields import declared
from drawmark.rules import rule_checks
from drawmark.rules.declarations import declaration_faults
from drawmark.rules.guard import FailedError, guard
from drawmark.rules.registry import Plugin
from drawmark.rules.rule_checks import Check, answer_of
from drawmark.rules.simplest_trial import simplest
from drawmark.rules.trial import Trial, hostile_trials, random_trial

CHECKS: Final[dict[str, str]] = {
    "declarations": "what the service loads, and no less",
    "documentation": "titles and meanings are whole sentences",
    "speed": "each answer within 0.1 s",
    "answers": "every answer can be used, and says only what it declares to give",
    "hostile inputs": "so it is at the ends of what a request may send",
    "purity": "the same answer each time, and the case as it was",
    "order of draws": "floors never fall and stops never end as the draw grows",
    "columns": "check_many says the same as check",
    "rules together": "no rule changes what another says",
    "stricter only": "no answer is less strict with the plugin",
}
"""Names of the checks, in their order, and what each holds a plugin to."""
_RULE_CHECKS: Final[dict[str, Check]] = {
    "answers": rule_checks.unsound,
    "hostile inputs": rule_checks.unsound,
    "purity": rule_checks.impure,
    "speed": rule_checks.slow,
    "order of draws": rule_checks.disordered,
    "columns": rule_checks.differs_in_columns,
    "rules together": rule_checks.disturbs,
    "stricter only": rule_checks.laxer,
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Failure:
    """What a rule does not keep to, and the smallest case that shows it.

    Parameters
    ----------
    check : str
        Which check failed.
    rule : str
        The rule; empty where it is the whole plugin.
    what : str
        What is wrong.
    case : str
        The values of the smallest case that was found; may be empty.
    """

    check: str
    rule: str
    what: str
    case: str = ""

    def __str__(self) -> str:
        """Word it in a line or two."""
        subject = f"rule {self.rule}: " if self.rule else ""
        case = f"\n  smallest case: {self.case}" if self.case else ""
        return f"{self.check}: {subject}{self.what}{case}"


class Conformance:
    """Tries one plugin; `CHECKS` names what it tries.

    Parameters
    ----------
    plugin : Plugin
        The plugin.
    settings : mapping or None
        Its settings, as a club writes them; random ones where not given.
    trials : int
        Number of trials.
    seed : int
        Seed of the chances; the same seed, the same trials.
    """

    def __init__(
        self,
        plugin: Plugin,
        *,
        settings: Mapping[str, object] | None = None,
        trials: int = 150,
        seed: int = 1,
    ) -> None:
        self.plugin = plugin
        self.spoke = Counter({rule.id: 0 for rule in plugin.rules})
        self._settings, self._number, self._seed = settings, trials, seed

    def failures(self, check: str) -> tuple[Failure, ...]:
        """Run one check; of each rule it gives the first failure alone."""
        # A rule that was too slow in another check is asked again in this one.
        guard.forget()
        if check == "declarations":
            faults = declaration_faults(self.plugin.rules)
            return tuple(Failure(check=check, rule="", what=fault) for fault in faults)
        if check == "documentation":
            return tuple(self._undocumented(check))
        if check == "answers":
            self._listen()
        return tuple(self._find(check, _RULE_CHECKS[check], self._trials_for(check)))

    @cached_property
    def trials(self) -> tuple[Trial, ...]:
        """The trials, the same for every check."""
        rng = random.Random(self._seed)
        return tuple(random_trial(self.plugin, self._settings, rng) for _ in range(self._number))

    def _trials_for(self, check: str) -> Iterable[Trial]:
        if check == "hostile inputs":
            return (end for trial in self.trials[:20] for end in hostile_trials(trial))
        return self.trials

    def _listen(self) -> None:
        for trial in self.trials:
            for bound in trial.asked:
                answer = answer_of(bound, trial.case)
                self.spoke[bound.rule.id] += not isinstance(answer, FailedError) and bool(answer)

    def _undocumented(self, check: str) -> Iterator[Failure]:
        texts = [(rule.id, f"the title {rule.title!r}", rule.title) for rule in self.plugin.rules]
        for role, cls in (("settings", self.plugin.settings), ("inputs", self.plugin.inputs)):
            for name, spec, _ in () if cls is None else declared(cls):
                texts.append(("", f"the meaning of {role}.{name}, {spec.doc!r},", spec.doc))
        for rule, what, text in texts:
            if not (text[:1].isupper() and text.endswith(".")):
                what = f"{what} needs a capital at its start and a full stop at its end"
                yield Failure(check=check, rule=rule, what=what)

    def _find(self, name: str, check: Check, trials: Iterable[Trial]) -> Iterator[Failure]:
        failed = set[str]()
        for trial in trials:
            for bound in trial.asked:
                rule = bound.rule.id
                if rule in failed or (first := check(bound, trial)) is None:
                    continue
                failed.add(rule)
                fails = partial(_fails, rule, check)
                if check is not rule_checks.slow:
                    small = simplest(trial, fails)
                else:
                    # Each call costs time, so one simpler case is tried and no more.
                    plain = next(hostile_trials(trial))
                    small = plain if fails(plain) else trial
                what = _wrong(small, rule, check) or f"{first}; but not each time"
                yield Failure(check=name, rule=rule, what=what, case=str(small))


def _fails(rule: str, check: Check, trial: Trial) -> bool:
    return _wrong(trial, rule, check) is not None


def _wrong(trial: Trial, rule: str, check: Check) -> str | None:
    return next((check(one, trial) for one in trial.asked if one.rule.id == rule), None)


def conform(
    plugin: Plugin,
    *,
    settings: Mapping[str, object] | None = None,
    trials: int = 150,
    seed: int = 1,
) -> dict[str, int]:
    """Try a plugin on random fittings, settings and inputs.

    Its declarations must be those that the service loads, and in whole sentences. Every rule must
    answer soundly, the same each time and soon, also at the ends of what a request may send. It
    says only what it declares to give, gets by with the fields it needs, leaves its case as it
    was and lets other rules be. Its floors never fall and its stops never end as the draw grows.
    It gives columns equal to what it says of single cases, and never makes an answer less strict.

    Parameters
    ----------
    plugin : Plugin
        The plugin.
    settings : mapping or None
        Its settings, as a club writes them; random ones where not given.
    trials : int
        Number of trials.
    seed : int
        Seed of the chances; the same seed, the same trials.

    Returns
    -------
    dict
        For each rule, in how many trials it said something.

    Raises
    ------
    AssertionError
        At the first check that a rule does not stand, with the rule and the smallest case.
    """
    conformance = Conformance(plugin, settings=settings, trials=trials, seed=seed)
    for check in CHECKS:
        failures = conformance.failures(check)
        assert not failures, "\n".join(map(str, failures))
    return dict(conformance.spoke)
