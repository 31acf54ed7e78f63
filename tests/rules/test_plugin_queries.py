"""Local rules alone: what is taken of them, and when an answer is missing."""

import numpy as np
import pytest

from drawmark import rules
from drawmark.rules.model import PRECEDENCE
from drawmark.rules.plugin_queries import ask_local_rules
from rules.bench import FACTS, FITTING, core, core_floor, plugin, rule, ruleset, says

FLOOR = frozenset({"floor"})


def fails(case):
    raise ValueError("no")


@pytest.mark.parametrize(
    ("made", "floor", "determinate"),
    [
        pytest.param([says(rules.floor(0.6, "f"), rules.floor(0.7, "g"))], 0.7, True, id="largest"),
        pytest.param([says(rules.floor(0.7, "f", when=False))], 0.0, True, id="none holds"),
        pytest.param([says(rules.ceiling(0.7, "c"), rules.stop("s"))], 0.0, True, id="others"),
        pytest.param([says(rules.floor(7, "f"))], 0.0, False, id="in another unit"),
        pytest.param([says(rules.floor(float("nan"), "f"))], 0.0, False, id="no number"),
        pytest.param([says(rules.floor(np.float32(0.5), "f"))], 0.5, True, id="of numpy"),
        pytest.param([says(rules.floor("0.7", "f"))], 0.0, False, id="words"),
        pytest.param([says(*[rules.floor(0.7, "f")] * 51)], 0.0, False, id="too many"),
        pytest.param([says(None)], 0.0, False, id="nonsense"),
        pytest.param(
            [rule(says(rules.floor(0.7, "f")), gives=frozenset({"ceiling"}))],
            0.0,
            True,
            id="not taken, since it gives none",
        ),
        pytest.param([rule(fails, gives=FLOOR)], 0.0, False, id="fails"),
        pytest.param(
            [rule(fails, gives=frozenset({"finding"}))], 0.0, True, id="fails, and sets no floor"
        ),
        pytest.param(
            [rule(says(rules.floor(0.7, "f")), needs=("arrow.mass",), gives=FLOOR)],
            0.0,
            True,
            id="lacks a field",
        ),
        pytest.param(
            [rule(says(), needs=("arrow.mass",), gives=FLOOR, required=True)],
            0.0,
            False,
            id="lacks a field and is required",
        ),
    ],
)
def test_largest_floor(made, floor, determinate):
    applied = ruleset(core(core_floor), plugin(*made))
    assert ask_local_rules(FITTING, FACTS, applied)[:2] == (floor, determinate)


@pytest.mark.parametrize(
    ("made", "severity"),
    [
        pytest.param([], "pass", id="no rule"),
        pytest.param([says(rules.floor(0.7, "f"))], "pass", id="a floor is no finding"),
        pytest.param([says(rules.note("n"), rules.caution("c"))], "caution", id="the worst"),
        pytest.param([says(rules.stop("s", when=False))], "pass", id="none holds"),
        pytest.param([says(rules.note("n"), rules.stop("s"))], "stop", id="of several"),
        pytest.param([says(None)], "indeterminate", id="nonsense"),
        pytest.param([rule(fails, gives=FLOOR)], "indeterminate", id="fails"),
        pytest.param(
            [rule(fails, gives=frozenset({"finding"}))], "indeterminate", id="fails to find"
        ),
        pytest.param(
            [rule(says(), needs=("arrow.mass",), required=True)],
            "indeterminate",
            id="lacks a field and is required",
        ),
    ],
)
def test_worst_finding(made, severity):
    applied = ruleset(core(core_floor), *([plugin(*made)] if made else []))
    assert ask_local_rules(FITTING, FACTS, applied).severity == PRECEDENCE[severity]
