"""A rule whose subject is absent is not listed as not checked; whatever it can say, it says."""

from __future__ import annotations

import dataclasses

import pytest

from drawmark import rules
from drawmark.fitting.model import Arrow, Shaft
from drawmark.rules.evaluate import evaluate
from drawmark.rules.hook import RuleError
from rules.bench import FITTING, plugin, rule, ruleset, says
from rules.fittings import core_ruleset

CORE = core_ruleset()
STOP = says(rules.stop("no"))
CLICKER = "archer.draw_control=clicker"


def listed(outcome):
    return {one.rule for one in outcome.not_checked}


def with_control(control, **bow):
    archer = dataclasses.replace(FITTING.archer, draw_control=control)
    return dataclasses.replace(FITTING, archer=archer, bow=dataclasses.replace(FITTING.bow, **bow))


@pytest.mark.parametrize(
    ("fitting", "rule", "is_listed"),
    [
        pytest.param(with_control("none"), "clicker-reach", False, id="no clicker claimed"),
        pytest.param(with_control("clicker"), "clicker-reach", True, id="clicker claimed"),
        pytest.param(with_control("none"), "wood-from-compound", False, id="recurve"),
        pytest.param(
            with_control("none", kind="compound"), "wood-from-compound", True, id="compound"
        ),
        pytest.param(with_control("none"), "maximum-draw", True, id="a limit not stated"),
    ],
)
def test_core_lists_what_concerns_the_fitting(fitting, rule, is_listed):
    assert (rule in listed(evaluate(fitting, CORE))) == is_listed


@pytest.mark.parametrize(
    ("concerns", "control", "is_listed"),
    [
        pytest.param(None, "none", True, id="concerns everybody"),
        pytest.param(CLICKER, "none", False, id="word not stated"),
        pytest.param(CLICKER, "clicker", True, id="word stated"),
        pytest.param(f"{CLICKER}|bow.draw_weight", "none", True, id="a field stated"),
        pytest.param(f"{CLICKER}|bow.maximum_draw", "none", False, id="neither"),
        pytest.param("arrow.shaft.material=wood", "none", True, id="a word that is not known"),
    ],
)
def test_plugin_says_what_its_rules_concern(concerns, control, is_listed):
    made = rule(STOP, needs=("bow.clicker_range",), concerns=concerns)
    chosen = ruleset(plugin(made))
    assert ("r" in listed(evaluate(with_control(control), chosen))) == is_listed


def test_known_word_is_another():
    made = rule(STOP, needs=("bow.clicker_range",), concerns="arrow.shaft.material=wood")
    fitting = dataclasses.replace(FITTING, arrow=Arrow(length=0.8, shaft=Shaft(material="carbon")))
    assert listed(evaluate(fitting, ruleset(plugin(made)))) == set()


def test_rule_with_all_it_needs_is_asked_whatever_it_concerns():
    made = rule(STOP, needs=("arrow.length",), concerns=CLICKER)
    assert evaluate(with_control("none"), ruleset(plugin(made))).verdict == "stop"


def test_required_rule_is_listed_whatever_it_concerns():
    made = rule(STOP, needs=("bow.clicker_range",), concerns=CLICKER, required=True)
    outcome = evaluate(with_control("none"), ruleset(plugin(made)))
    assert outcome.verdict == "indeterminate"
    assert listed(outcome) == {"r"}


@pytest.mark.parametrize(
    "concerns",
    [
        pytest.param("archer.hat=red", id="no such field"),
        pytest.param("archer.draw_control=hope", id="no such word"),
        pytest.param("archer.draw_length=28", id="not a field of words"),
        pytest.param("archer.draw_control='+x+'", id="no word at all"),
        pytest.param("facts.control=clicker", id="a fact's word"),
        pytest.param("bow.hat", id="no field"),
        pytest.param(("bow.kind",), id="a tuple"),
    ],
)
def test_subject_that_nothing_has_is_refused(concerns):
    with pytest.raises(RuleError, match="concerns"):
        plugin(rule(STOP, concerns=concerns))
