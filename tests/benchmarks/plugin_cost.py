"""What local rules cost a fit check, in processor time, beside a fit check by the core alone.

Run: cd tests && python -m benchmarks.plugin_cost

Two invented plugins have three rules each: one that sets a floor, one that holds the arrow to a
limit which it keeps, one that would say a caution. In "outspoken" each of the last two speaks in
every answer, which then also has to be written. Rounds are interleaved; the ratio is taken in each
round, since other work on the machine changes the figures more than the ratios.

In detail "verdict" each rule is asked once. In full detail, rules are also asked at every draw that
the longest safe draw takes in: those of the plugins here in columns, the invented ones one by one.
"""

from __future__ import annotations

import json
import os
import platform
import statistics
import time
from collections.abc import Callable, Iterable, Mapping

from drawmark import rules
from drawmark.rules.configuration import Configuration, everything
from drawmark.rules.registry import Plugin, Registry, load, register
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.installed_rules import Rules, core_rules, installed_rules
from drawmark.web.wire.operations import operations_of

ROUNDS = 9
CALLS = 600
BODY = json.dumps({**EXAMPLES["fit-check"], "detail": "verdict"}).encode()
FULL = json.dumps(EXAMPLES["fit-check"]).encode()
BAR = 1.25
"""For three rules in each of two plugins, once each."""
FULL_BAR = 2.0
"""For the plugins here, at every draw."""
FULL_SINGLY_BAR = 5.8
"""For three rules in each of two plugins, at every draw one by one."""
FINDING = frozenset({"finding"})


class Hall:
    """The module of an invented plugin."""

    def __init__(self, margin: float, outspoken: bool) -> None:
        self.margin, self.outspoken = margin, outspoken

    def reach(self, case: rules.Case) -> Iterable[rules.Said]:
        facts = case.facts
        yield rules.floor(
            facts.draw + facts.back + self.margin,
            "The hall asks for this margin past the back of the bow.",
            terms=(
                rules.Term("draw to the pivot point", facts.draw),
                rules.Term("back of the bow", facts.back),
                rules.Term("the hall's margin", self.margin),
            ),
        )

    def limit(self, case: rules.Case) -> Iterable[rules.Said]:
        weight = case.facts.draw_weight
        assert weight is not None
        if self.outspoken or weight > 200.0:
            say = rules.note if self.outspoken else rules.stop
            yield say(
                "The draw weight is above what the hall allows.",
                measured=rules.Measure(weight, "force"),
                limit=rules.Measure(200.0, "force"),
                fields=("bow.draw_weight",),
            )

    def care(self, case: rules.Case) -> Iterable[rules.Said]:
        length = case.arrow.length
        assert length is not None
        if self.outspoken or length > 0.9:
            say = rules.note if self.outspoken else rules.caution
            yield say(
                "The hall's racks are made for shorter arrows.",
                measured=rules.Measure(length),
                limit=rules.Measure(0.9),
                fields=("arrow.length",),
            )

    @rules.hookimpl
    def drawmark_rules(self) -> list[rules.Rule]:
        return [
            rules.Rule(id="reach", title="Margin.", check=self.reach, gives=frozenset({"floor"})),
            rules.Rule(
                id="limit",
                title="Draw weight.",
                check=self.limit,
                needs=("facts.draw_weight",),
                gives=FINDING,
            ),
            rules.Rule(
                id="care", title="Racks.", check=self.care, needs=("arrow.length",), gives=FINDING
            ),
        ]


def with_plugins(*plugins: Plugin) -> Rules:
    core = load().find("core")
    assert core is not None
    found = Registry(plugins=(core, *plugins))
    ruleset = everything(found)
    configuration = Configuration(rulesets={ruleset.name: ruleset}, default=ruleset.name)
    return Rules(registry=found, configuration=configuration)


def two_plugins(outspoken: bool) -> Rules:
    """Two plugins with three rules each."""
    return with_plugins(
        register("east-hall", "1.0", Hall(0.03, outspoken)),
        register("west-hall", "1.0", Hall(0.02, outspoken)),
    )


def measure(
    chosen: Mapping[str, Rules], rounds: int = ROUNDS, calls: int = CALLS, body: bytes = BODY
) -> dict[str, tuple[float, float]]:
    """Give microseconds of a fit check, and how many times that of the first; medians."""
    checks: dict[str, Callable[[], object]] = {}
    for name, installed in chosen.items():
        (operation,) = [one for one in operations_of(installed) if one.path == "fit-check"]
        checks[name] = lambda calculate=operation.calculate: calculate(body)  # type: ignore[misc]
    spent: dict[str, list[float]] = {name: [] for name in checks}
    for number in range(rounds + 1):
        for name, check in checks.items():
            before = time.process_time()
            for _ in range(calls):
                check()
            if number:
                spent[name].append((time.process_time() - before) / calls * 1e6)
    first = next(iter(spent.values()))
    return {
        name: (
            statistics.median(times),
            statistics.median(one / alone for one, alone in zip(times, first, strict=True)),
        )
        for name, times in spent.items()
    }


def all_rules() -> dict[str, Rules]:
    return {
        "core alone": core_rules(),
        "two plugins, three rules each": two_plugins(outspoken=False),
        "two plugins, outspoken": two_plugins(outspoken=True),
        "all that is installed": installed_rules(),
    }


if __name__ == "__main__":
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    for detail, body in (("verdict", BODY), ("full", FULL)):
        for name, (microseconds, ratio) in measure(all_rules(), body=body).items():
            print(f"{detail:8} {name:32} {microseconds:8.1f} us {ratio:6.3f}")
    print(f"bar: {BAR} for two plugins with three rules each, in detail verdict")
