"""Columns of fittings give what single fittings give."""

import dataclasses

import msgspec
import numpy as np
import pytest

from drawmark import rules
from drawmark.deadline import deadline
from drawmark.fitting.model import Arrow
from drawmark.rules.column_trees import picker
from drawmark.rules.evaluate import evaluate
from drawmark.rules.evaluate_batch import evaluate_many
from drawmark.rules.guard import guard
from drawmark.rules.strikes import STRIKES
from rules.bench import FACTS, FITTING, core, plugin, rule, ruleset, says

SIZE = 25
LENGTHS = np.linspace(0.60, 0.90, SIZE)
MANY = dataclasses.replace(FITTING, arrow=Arrow(length=LENGTHS))
MANY_FACTS = msgspec.structs.replace(
    FACTS, usable_length=LENGTHS, draw=np.linspace(0.5, 0.75, SIZE), draw_weight=100 * LENGTHS
)


def floors(case):
    yield rules.floor(
        case.facts.draw + 0.07,
        "reach",
        id="bow-back",
        terms=(rules.Term("draw", case.facts.draw),),
        when=case.arrow.length > 0.65,
    )
    yield rules.floor(0.70, "fixed")


def limits(case):
    yield rules.ceiling(case.facts.draw + 0.15, "c", when=case.facts.draw > 0.6)
    weight = case.facts.draw_weight
    yield rules.caution("heavy", when=weight > 80.0, measured=rules.Measure(weight, "force"))
    yield rules.indeterminate("odd", when=case.arrow.length > 0.85)
    yield rules.note("always")


def by_item(check):
    """The same rule without columns."""
    return rule(lambda case: [one for one in check(case) if one.when], check.__name__)


def by_column(check):
    return rule(check, check.__name__, check_many=check)


def fails_on_columns(check):
    def check_many(case):
        raise RuntimeError("no columns, please")

    return rule(check, check.__name__, check_many=check_many)


def raises_on_some(case):
    if case.arrow.length > 0.75:
        raise ValueError("too long for me")
    return [rules.caution("looked at")]


SETS = {
    "core alone": ruleset(core(by_column(floors), by_column(limits))),
    "core item by item": ruleset(core(by_item(floors), by_item(limits))),
    "plugin in columns": ruleset(core(by_column(floors)), plugin(by_column(limits))),
    "plugin item by item": ruleset(core(by_column(floors)), plugin(by_item(limits))),
    "floors item by item": ruleset(core(by_column(limits)), plugin(by_item(floors))),
    "columns that fail": ruleset(
        core(by_column(floors)), plugin(fails_on_columns(floors), fails_on_columns(limits))
    ),
    "some items that fail": ruleset(
        core(by_column(floors)), plugin(raises_on_some, by_item(limits))
    ),
    "missing": ruleset(core(by_column(floors)), missing=["hall"]),
    "lacking and required": ruleset(
        core(by_column(floors)),
        plugin(rule(says(), needs=("arrow.mass",), required=True)),
    ),
    "nothing": ruleset(),
}


def decided_by(many):
    """The deciding findings of each item, in their order."""
    found = {}
    for place, placed, items in many.deciding():
        pick = picker(placed)
        for at in items.tolist():
            found.setdefault(at, []).append((place, pick(at)))
    return {
        at: [placed for _, placed in sorted(all_of_it, key=lambda one: one[0])]
        for at, all_of_it in found.items()
    }


@pytest.mark.parametrize("chosen", SETS.values(), ids=SETS)
@pytest.mark.parametrize("lengths_only", [False, True])
def test_each_item_is_as_if_alone(chosen, lengths_only):
    many = evaluate_many(MANY, chosen, SIZE, lengths_only=lengths_only, facts=MANY_FACTS)
    pick, pick_facts = picker(MANY), picker(MANY_FACTS)
    deciding = decided_by(many)
    for at in range(SIZE):
        alone = evaluate(pick(at), chosen, lengths_only=lengths_only, facts=pick_facts(at))
        assert many.item(at) == alone
        assert many.verdicts()[at] == alone.verdict
        assert many.minimum_usable[at] == alone.minimum_usable
        assert many.determinate[at] == alone.determinate
        wanted = [
            placed
            for placed in alone.findings
            if alone.verdict != "pass" and placed.said.severity == alone.verdict
        ]
        assert deciding.get(at, []) == wanted


def test_columns_cannot_be_written_to():
    def scribble(case):
        case.arrow.length[0] = 9.0
        return []

    def scribble_on_facts(case):
        case.facts.draw += 1.0
        return []

    for check in (scribble, scribble_on_facts):
        made = rule(lambda case: [rules.note("single")], check_many=check)
        many = evaluate_many(MANY, ruleset(plugin(made)), SIZE, facts=MANY_FACTS)
        assert len(many.own) == SIZE, "not asked again item by item"
        assert LENGTHS[0] == 0.60
        assert MANY_FACTS.draw[0] == 0.5


def test_inputs_come_in_columns():
    @dataclasses.dataclass(frozen=True)
    class Inputs:
        place: float = rules.length(0.0, 1.0, "Place.", default=0.5)

    def check(case):
        return [rules.stop("near", when=case.inputs.place < 0.2)]

    local = {"local": Inputs(place=np.linspace(0.0, 1.0, SIZE))}
    for made in (rule(check, check_many=check, inputs=Inputs), rule(check, inputs=Inputs)):
        many = evaluate_many(MANY, ruleset(plugin(made)), SIZE, local, facts=MANY_FACTS)
        assert many.verdicts() == ["stop"] * 5 + ["pass"] * 20


def test_a_column_that_takes_too_long_is_asked_item_by_item_and_switches_no_rule_off():
    def loops(case):
        while True:
            pass

    made = rule(says(rules.stop("alone")), "many-loops", check_many=loops)
    guard.forget()
    for _ in range(STRIKES + 1):
        many = evaluate_many(MANY, ruleset(plugin(made)), SIZE, facts=MANY_FACTS)
        assert many.verdicts() == ["stop"] * SIZE
    guard.forget()


def test_a_rule_that_is_off_is_not_asked_item_by_item():
    def loops(case):
        while True:
            pass

    made = rule(loops, "loops", check_many=loops)
    guard.forget()
    first, second = (
        evaluate_many(MANY, ruleset(plugin(made)), SIZE, facts=MANY_FACTS) for _ in range(2)
    )
    guard.forget()
    assert first.verdicts() == second.verdicts() == ["indeterminate"] * SIZE
    assert len(first.own) == SIZE
    assert not second.own
    assert "is off in this process" in second.common.unevaluated[0].reason


WORDS = "The rule contradicts itself: of an item of this batch its check_many says something else"


@pytest.mark.parametrize(
    "check_many",
    [
        lambda case: [],
        lambda case: [rules.stop("near", when=case.facts.draw > 9.0)],
        lambda case: [rules.caution("near")],
        lambda case: [rules.stop("other words")],
        lambda case: [rules.stop("near"), rules.note("more")],
        lambda case: [rules.stop("near", measured=rules.Measure(case.arrow.length))],
    ],
)
def test_columns_that_contradict_the_check_cost_the_rule(check_many):
    made = rule(lambda case: [rules.stop("near")], check_many=check_many)
    many = evaluate_many(MANY, ruleset(plugin(made)), SIZE, facts=MANY_FACTS)
    assert set(many.verdicts()) == {"indeterminate"}
    (told,) = many.unevaluated_of(3)
    assert told.reason.startswith(WORDS)


def test_a_check_that_fails_alone_costs_the_rule_in_columns_too():
    made = rule(lambda case: [][0], check_many=lambda case: [])
    many = evaluate_many(MANY, ruleset(plugin(made)), SIZE, facts=MANY_FACTS)
    assert set(many.verdicts()) == {"indeterminate"}


def test_rules_that_were_asked_before_are_held_against_their_checks_too():
    made = rule(lambda case: [], check_many=says(rules.stop("near")))
    many = evaluate_many(MANY, ruleset(plugin(made)), SIZE, facts=MANY_FACTS, again=True)
    assert set(many.verdicts()) == {"indeterminate"}


def test_a_contradiction_is_counted_as_a_fault(monkeypatch):
    seen = []
    monkeypatch.setattr(guard, "observer", lambda *told: seen.append(told))
    made = rule(says(rules.stop("near")), check_many=says())
    evaluate_many(MANY, ruleset(plugin(made)), SIZE, facts=MANY_FACTS)
    assert (("local", "r"), None, "contradicts") in seen


def test_figures_may_differ_by_rounding():
    def check(case):
        return [rules.floor(case.facts.draw * 3.0 / 3.0, "f")]

    def check_many(case):
        return [rules.floor(case.facts.draw / 3.0 * 3.0, "f")]

    many = evaluate_many(
        MANY, ruleset(plugin(rule(check, check_many=check_many))), SIZE, facts=MANY_FACTS
    )
    assert not many.common.unevaluated


def looked_at(sizes, each):
    """Columns of one request in which a rule was asked about an item alone, and how often."""
    asked = []
    made = rule(lambda case: asked.append(case) or [], check_many=says())
    counts = []
    deadline.begin(60)
    try:
        for size in sizes:
            lengths = np.linspace(0.60, 0.90, size)
            fitting = dataclasses.replace(FITTING, arrow=Arrow(length=lengths))
            facts = msgspec.structs.replace(FACTS, usable_length=lengths)
            before = len(asked)
            evaluate_many(fitting, ruleset(plugin(made)), size, facts=facts, items_for_each=each)
            counts.append(len(asked) - before)
    finally:
        deadline.end()
    return counts


@pytest.mark.parametrize(
    ("sizes", "each", "counts"),
    [
        pytest.param([31] * 8, 250, [3, 0, 0, 0, 0, 0, 0, 0], id="many small groups"),
        pytest.param([100] * 6, 250, [3, 0, 1, 0, 1, 0], id="now and then"),
        pytest.param([2000, 2000], 250, [11, 8], id="large columns"),
        pytest.param([1], 250, [1], id="one item"),
        pytest.param([1000, 1000, 1000], 2500, [3, 0, 1], id="pairs"),
    ],
)
def test_a_share_of_a_requests_items_is_looked_at(sizes, each, counts):
    assert looked_at(sizes, each) == counts


@pytest.mark.parametrize("stopped", [(0.80, 0.90), (0.60, 0.63)])
def test_the_ends_of_a_list_are_looked_at(stopped):
    """Lists often come in order of length: what stops the longest or the shortest is found."""

    def check(case):
        return [rules.stop("near")] if stopped[0] <= case.arrow.length <= stopped[1] else []

    lengths = np.linspace(0.60, 0.85, 8)
    fitting = dataclasses.replace(FITTING, arrow=Arrow(length=lengths))
    facts = msgspec.structs.replace(FACTS, usable_length=lengths)
    made = rule(check, check_many=says())
    many = evaluate_many(fitting, ruleset(plugin(made)), 8, facts=facts)
    assert set(many.verdicts()) == {"indeterminate"}


def test_a_contradiction_costs_the_rule_in_the_rest_of_the_request():
    made = rule(lambda case: [rules.stop("near")], check_many=says())
    deadline.begin(60)
    try:
        for _ in range(3):
            many = evaluate_many(MANY, ruleset(plugin(made)), SIZE, facts=MANY_FACTS)
            assert set(many.verdicts()) == {"indeterminate"}
    finally:
        deadline.end()
