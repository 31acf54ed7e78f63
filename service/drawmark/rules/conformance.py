"""What every plugin must keep to, tried on random fittings."""

from __future__ import annotations

import random
import time
from collections import Counter
from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from drawmark.fitting.facts import Facts, facts_of
from drawmark.fitting.model import Fitting, FittingError
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.column_trees import group_alike, picker, shield, stack_alike
from drawmark.rules.declarations import declaration_faults
from drawmark.rules.evaluate import evaluate
from drawmark.rules.guard import FailedError
from drawmark.rules.model import CORE, PRECEDENCE, Case, Said
from drawmark.rules.random_cases import random_fitting, random_instance
from drawmark.rules.registry import Plugin, load
from drawmark.rules.rule_call import call_rules, case_of
from drawmark.rules.rule_set import Group, RuleSet, bind
from drawmark.rules.spot_check import alike
from drawmark.rules.text_values import read
from drawmark.rules.validation import UnsoundError, validate

COLUMN: Final = 7
MOST_TRIES: Final = 2000
SLOW: Final = 0.1
"""What a rule may take in a test [s]; the service stops it at 0.25 s."""


def conform(
    plugin: Plugin,
    *,
    settings: Mapping[str, object] | None = None,
    trials: int = 150,
    seed: int = 1,
) -> dict[str, int]:
    """Try a plugin on random fittings, settings and inputs.

    Its declarations must be those that the service loads. Every rule must answer soundly, the same
    each time and soon, say only what it declares to give, get by with the fields it needs, leave
    its case as it was, give columns equal to what it says of single cases, and never make an
    answer less strict.

    Parameters
    ----------
    plugin : Plugin
        The plugin.
    settings : mapping or None
        Its settings, as a club writes them; random ones where not given.
    trials : int
        Number of fittings and of columns of fittings.
    seed : int
        Seed of the chances; the same seed, the same trials.

    Returns
    -------
    dict
        For each rule, in how many trials it said something.

    Raises
    ------
    AssertionError
        At the first trial that a rule does not stand, with the rule and the case.
    """
    faults = declaration_faults(plugin.rules)
    assert not faults, "; ".join(faults)
    rng = random.Random(seed)
    core = load().find(CORE)
    core_rules = () if core is None or core.status != "active" else bind(core, None)
    alone = RuleSet(name="core", title="The core's rules", rules=core_rules)
    spoke = Counter({rule.id: 0 for rule in plugin.rules})
    for _ in range(trials):
        chosen: Any = None
        if plugin.settings is not None:
            chosen = (
                random_instance(plugin.settings, rng)
                if settings is None
                else read(plugin.settings, settings, "settings")
            )
        rules = bind(plugin, chosen)
        both = RuleSet(name="both", title="Core and plugin", rules=(*core_rules, *rules))
        groups = [group for group in both.groups if group.plugin == plugin.name]
        for group in groups:
            _try_single(_case(group, plugin, rng, 0), group, spoke)
            _try_columns(_case(group, plugin, rng, COLUMN), group)
        fitting, facts = _computable(rng, 0)
        _try_stricter(alone, both, fitting, facts, _inputs(plugin, rng, 0))
    return dict(spoke)


def _inputs(plugin: Plugin, rng: random.Random, size: int) -> dict[str, object]:
    if plugin.inputs is None or rng.random() < 0.3:
        return {}
    return {plugin.name: random_instance(plugin.inputs, rng, size)}


def _computable(rng: random.Random, size: int) -> tuple[Fitting, Facts]:
    for _ in range(MOST_TRIES):
        fitting = random_fitting(rng, size)
        pick = picker(fitting)
        try:
            facts = [facts_of(pick(at)) for at in range(max(size, 1))]
        except FittingError:
            continue
        if len(group_alike(facts)) == 1:
            return fitting, stack_alike(facts)
    raise AssertionError("no random fitting can be computed")


def _case(group: Group, plugin: Plugin, rng: random.Random, size: int) -> Case:
    return case_of(*_computable(rng, size), group, _inputs(plugin, rng, size))


def _try_single(case: Case, group: Group, spoke: Counter[str]) -> None:
    for bound in group.selector.select(case).rules:
        name = f"rule {bound.rule.id}"
        before = repr(case)
        started = time.thread_time()
        said = _answer(bound, case)
        took = time.thread_time() - started
        assert took < SLOW, f"{name} took {took:.3f} s for {case}"
        assert repr(case) == before, f"{name} changed its case {before}"
        assert said == _answer(bound, case), f"{name} does not say the same twice of {case}"
        spoke[bound.rule.id] += bool(said)


def _answer(bound: BoundRule, case: Case) -> list[Said]:
    (answer,) = call_rules((bound,), case, trusted=False)
    assert not isinstance(answer, FailedError), f"rule {bound.rule.id} {answer} for {case}"
    return list(answer)


def _try_columns(case: Case, group: Group) -> None:
    for bound in group.selector.select(case).rules:
        check_many = bound.rule.check_many
        if check_many is None:
            continue
        name = f"check_many of rule {bound.rule.id}"
        shielded = shield(case)
        before = repr(case)
        try:
            said = validate(list(check_many(shielded)), bound.rule.gives, COLUMN)
        except UnsoundError as error:
            raise AssertionError(f"{name} {error} for {case}") from error
        assert repr(case) == before, f"{name} changed its case {before}"
        pick, picks = picker(case), [picker(one) for one in said]
        for at in range(COLUMN):
            here = [one for take in picks if (one := take(at)).when]
            there = _answer(bound, pick(at))
            assert alike(here, there), f"{name} says {here}, check says {there}, of {pick(at)}"


def _try_stricter(
    alone: RuleSet, both: RuleSet, fitting: Fitting, facts: Facts, local: Mapping[str, object]
) -> None:
    without = evaluate(fitting, alone, facts=facts)
    joined = evaluate(fitting, both, local, facts=facts)
    assert np.all(joined.minimum_usable >= without.minimum_usable), f"a lower floor: {fitting}"
    assert PRECEDENCE[joined.verdict] >= PRECEDENCE[without.verdict], f"less strict: {fitting}"
    assert without.determinate or not joined.determinate, f"less in doubt: {fitting}"
