"""What the engine makes of what rules say."""

import math

import pytest

from drawmark import rules
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.model import Arrow, Fitting
from drawmark.rules.evaluate import evaluate
from drawmark.rules.outcome import Unevaluated
from drawmark.rules.rule_set import Absent, RuleSet
from rules.bench import FACTS, FITTING, core, core_floor, facts_with, plugin, rule, ruleset, says


def judge(*plugins, **more):
    return evaluate(FITTING, ruleset(*plugins, **more), facts=FACTS)


@pytest.mark.parametrize(
    ("said", "verdict"),
    [
        pytest.param([], "pass", id="nothing said"),
        pytest.param([rules.note("n")], "pass", id="a note"),
        pytest.param([rules.caution("c")], "caution", id="a caution"),
        pytest.param([rules.indeterminate("i")], "indeterminate", id="indeterminate"),
        pytest.param([rules.stop("s")], "stop", id="stop"),
        pytest.param([rules.caution("c"), rules.note("n")], "caution", id="a note after a caution"),
        pytest.param(
            [rules.indeterminate("i"), rules.caution("c")], "indeterminate", id="the worse first"
        ),
        pytest.param(
            [rules.indeterminate("i"), rules.stop("s")], "stop", id="a stop is never hidden"
        ),
        pytest.param([rules.stop("s", when=False)], "pass", id="a stop that does not hold"),
        pytest.param([rules.floor(0.801, "f")], "stop", id="a floor above the arrow"),
        pytest.param([rules.floor(0.801, "f", when=False)], "pass", id="one that does not hold"),
        pytest.param([rules.floor(0.80, "f")], "caution", id="a floor at the arrow"),
        pytest.param([rules.floor(0.75, "f")], "pass", id="a floor far below"),
        pytest.param([rules.ceiling(0.79, "c")], "caution", id="a ceiling below the arrow"),
        pytest.param([rules.ceiling(0.81, "c")], "pass", id="a ceiling above it"),
    ],
)
def test_verdict(said, verdict):
    for one in (judge(plugin(says(*said))), judge(core(says(*said)))):
        assert one.verdict == verdict
        assert one.determinate
        assert not one.unevaluated


def test_only_the_larger_floor_counts():
    outcome = judge(core(core_floor), plugin(says(rules.floor(0.70, "low"))))
    assert outcome.minimum_usable == 0.73
    outcome = judge(core(core_floor), plugin(says(rules.floor(0.75, "high"))))
    assert outcome.minimum_usable == 0.75
    assert [(placed.plugin, placed.said.length) for placed in outcome.floors] == [
        ("core", 0.73),
        ("local", 0.75),
    ]


@pytest.mark.parametrize(
    ("needs", "lacking"),
    [
        pytest.param(("arrow.mass",), ("arrow.mass",), id="a field"),
        pytest.param(("arrow.length", "arrow.mass"), ("arrow.mass",), id="one of two"),
        pytest.param(("arrow.length|arrow.mass",), (), id="an alternative that is there"),
        pytest.param(
            ("arrow.mass|arrow.shaft.mass_per_length",),
            ("arrow.mass|arrow.shaft.mass_per_length",),
            id="no alternative",
        ),
        pytest.param(("arrow.shaft.static_spine",), ("arrow.shaft.static_spine",), id="in a part"),
        pytest.param(("arrow.shaft",), ("arrow.shaft",), id="a part"),
        pytest.param(("arrow",), (), id="a whole part of the request"),
        pytest.param(("facts.draw_weight",), (), id="a fact"),
    ],
)
def test_a_rule_without_its_fields_is_not_run(needs, lacking):
    outcome = judge(plugin(rule(says(rules.stop("ran")), needs=needs)))
    assert [one.fields for one in outcome.not_checked] == ([lacking] if lacking else [])
    assert outcome.verdict == ("pass" if lacking else "stop")


def test_parts_that_were_not_given_have_nothing_in_them():
    seen = []
    bare = Fitting(archer=FITTING.archer, bow=FITTING.bow)
    local = plugin(
        lambda case: seen.append(case.arrow) or [],
        rule(says(rules.stop("ran")), "s", needs=("arrow",)),
    )
    outcome = evaluate(bare, ruleset(local), facts=facts_with(usable_length=None))
    assert seen == [Arrow()]
    assert [one.fields for one in outcome.not_checked] == [("arrow",)]


@pytest.mark.parametrize(
    ("gives", "determinate"), [({"finding"}, True), ({"floor"}, False), ({"ceiling"}, True)]
)
@pytest.mark.parametrize("way", ["required by the plugin", "required by the rule set", "raises"])
def test_a_floor_that_cannot_be_told_leaves_the_length_in_doubt(gives, determinate, way):
    def fail(case):
        raise RuntimeError("no luck")

    needs = () if way == "raises" else ("arrow.mass",)
    made = rule(fail, needs=needs, gives=frozenset(gives), required=way == "required by the plugin")
    required = ["r"] if way == "required by the rule set" else []
    outcome = judge(core(core_floor), plugin(made), required=required)
    assert outcome.verdict == "indeterminate"
    assert outcome.determinate is determinate
    assert outcome.minimum_usable == 0.73


@pytest.mark.parametrize(
    ("needs", "give"),
    [
        pytest.param(("arrow.mass",), "arrow.mass", id="one field"),
        pytest.param(("arrow.mass|arrow.shaft",), "arrow.mass or arrow.shaft", id="either"),
        pytest.param(("arrow.mass", "arrow.wrap"), "arrow.mass, and arrow.wrap", id="both"),
    ],
)
def test_a_required_rule_without_its_fields_says_what_to_give(needs, give):
    outcome = judge(plugin(rule(says(), needs=needs)), required=["r"])
    said = f"The rule is required and lacks what it needs. Give {give}, then ask again."
    assert outcome.unevaluated == (Unevaluated("local", "r", said),)
    assert [one.rule for one in outcome.not_checked] == ["r"]


def test_what_could_not_be_evaluated_stands_in_the_order_of_the_rules():
    def fail(case):
        raise RuntimeError("no luck")

    lacking = {"needs": ("arrow.mass",), "required": True}
    made = [rule(fail, "a"), rule(says(), "b", **lacking), rule(fail, "c")]
    outcome = judge(plugin(*made), missing=["hall"])
    assert [one.rule for one in outcome.unevaluated] == ["", "a", "b", "c"]


def test_a_required_plugin_that_is_missing():
    outcome = judge(core(core_floor), missing=["hall"])
    assert outcome.verdict == "indeterminate"
    assert not outcome.determinate
    assert outcome.unevaluated == (
        Unevaluated("hall", "", "The plugin is required and not active: not installed."),
    )
    assert judge(core(says(rules.stop("s"))), missing=["hall"]).verdict == "stop"


def test_a_plugin_that_failed_to_load_is_told_and_changes_no_verdict():
    named = RuleSet(name="n", title="n", rules=(), absent=(Absent(name="hall", reason="broken"),))
    outcome = evaluate(FITTING, named, facts=FACTS)
    assert outcome.unevaluated == (
        Unevaluated(
            "hall", "", "The plugin failed to load, and its rules are not applied: broken."
        ),
    )
    assert outcome.verdict == "pass"
    assert outcome.determinate


def test_lengths_only_runs_rules_of_lengths():
    ran = []
    local = plugin(
        *(
            rule(lambda case, gift=gift: ran.append(gift) or [], gift, gives=frozenset({gift}))
            for gift in ("floor", "ceiling", "finding")
        )
    )
    evaluate(FITTING, ruleset(local), lengths_only=True, facts=FACTS)
    assert sorted(ran) == ["ceiling", "floor"]


def test_order_is_the_cores_then_by_names():
    bees = plugin(rule(says(rules.note("b2")), "z"), rule(says(rules.note("b1")), "y"), name="bees")
    ants = plugin(says(rules.note("a")), name="ants")
    heart = core(rule(says(rules.note("c2")), "z"), rule(says(rules.note("c1")), "y"))
    first, second = judge(bees, heart, ants), judge(ants, bees, heart)
    assert first == second
    assert [placed.said.message for placed in first.findings] == ["c2", "c1", "a", "b1", "b2"]
    assert [one.plugin for one in first.applied] == ["core", "ants", "bees"]


def test_a_failing_rule_of_the_core_is_told():
    outcome = judge(core(lambda case: 1 / 0))
    assert outcome.verdict == "indeterminate"
    assert outcome.unevaluated[0].reason == "The rule raised ZeroDivisionError: division by zero."
    assert not outcome.determinate


def test_a_floor_of_the_core_must_be_a_figure():
    outcome = judge(core(says(rules.floor(math.nan, "f"))))
    assert not outcome.determinate
    assert outcome.verdict == "indeterminate"
    assert outcome.minimum_usable == 0.0


def test_contradictions_found_by_the_core_reach_the_caller():
    def contradict(case):
        raise FittingError(Fault(path=("bow",), detail="no"))

    with pytest.raises(FittingError):
        judge(core(contradict))
    assert judge(plugin(contradict)).verdict == "indeterminate"


def test_settings_and_inputs_reach_the_rule():
    from dataclasses import dataclass

    @dataclass(frozen=True)
    class Inputs:
        place: float = rules.length(0.0, 1.0, "Place.", default=0.5)

    @dataclass(frozen=True)
    class Needed:
        place: float = rules.length(0.0, 1.0, "Place.")

    seen = []
    local = plugin(
        rule(lambda case: seen.append((case.settings, case.inputs)) or [], inputs=Inputs)
    )
    evaluate(FITTING, ruleset(local, settings="s"), facts=FACTS)
    evaluate(FITTING, ruleset(local), {"local": Inputs(place=0.1)}, facts=FACTS)
    assert seen == [("s", Inputs()), (None, Inputs(place=0.1))]

    strict = plugin(rule(says(rules.stop("ran")), inputs=Needed))
    outcome = evaluate(FITTING, ruleset(strict), facts=FACTS)
    assert outcome.not_checked[0].fields == ("local.local",)
    outcome = evaluate(FITTING, ruleset(strict), {"local": Needed(place=0.1)}, facts=FACTS)
    assert outcome.verdict == "stop"
