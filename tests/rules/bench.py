"""A workbench for tests of the engine: facts, fittings, and plugins made on the spot."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import msgspec

from drawmark import rules
from drawmark.fitting.facts import Facts
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.rules.registry import Plugin, register
from drawmark.rules.rule_set import Absent, RuleSet, bind

FACTS = Facts(
    draw=0.66,
    longest_draw=0.66,
    estimated=False,
    variation=None,
    count=None,
    control="none",
    unshown=(),
    allowance=0.0,
    growth=0.0,
    back=0.04445,
    rest=0.04445,
    sleeve=0.0,
    usable_length=0.80,
    draw_weight=100.0,
    arrow_mass=0.02,
    front_of_centre=10.0,
    launch_load=1.0,
)
FITTING = Fitting(
    archer=Archer(draw_length=0.70445, draw_length_convention="standard"),
    bow=Bow(kind="recurve", draw_weight=100.0, draw_weight_basis="own_draw"),
    arrow=Arrow(length=0.80),
)


def facts_with(**changes: Any) -> Facts:
    return msgspec.structs.replace(FACTS, **changes)


class Module:
    """Stands for the module of a plugin."""

    def __init__(self, made: Iterable[rules.Rule]) -> None:
        self.made = made

    @rules.hookimpl
    def drawmark_rules(self) -> Iterable[rules.Rule]:
        return self.made


def rule(check: Callable[..., Any], id: str = "r", **more: Any) -> rules.Rule:
    return rules.Rule(id=id, title="A rule under test.", check=check, **more)


def plugin(*made: Any, name: str = "local", version: str = "1") -> Plugin:
    return register(
        name,
        version,
        Module([one if isinstance(one, rules.Rule) else rule(one) for one in made]),
    )


def core(*made: Any) -> Plugin:
    return plugin(*made, name="core")


def ruleset(
    *plugins: Plugin,
    missing: Iterable[str] = (),
    required: Iterable[str] = (),
    settings: Any = None,
) -> RuleSet:
    return RuleSet(
        name="under-test",
        title="Under test",
        rules=tuple(bound for one in plugins for bound in bind(one, settings, frozenset(required))),
        missing=tuple(Absent(name=name, reason="not installed") for name in missing),
    )


def core_floor(case: rules.Case) -> Iterable[rules.Said]:
    return [rules.floor(0.73, "the core's floor", id="bow-back")]


def says(*said: Any) -> Callable[[Any], Any]:
    return lambda case: list(said)
