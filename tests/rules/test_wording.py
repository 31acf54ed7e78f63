"""What people read is in short sentences, each with a capital first and a full stop last."""

from __future__ import annotations

import ast
import json
import random
import re
from functools import cache
from pathlib import Path

import pytest

from corpus.asked import all_requests
from corpus.record import ask_all
from drawmark.fitting.facts import facts_of
from drawmark.fitting.faults import FittingError
from drawmark.rules import testing
from drawmark.rules.evaluate import evaluate
from drawmark.rules.model import Finding, Floor
from drawmark.rules.outcome import sentence
from drawmark.rules.random_cases import random_fitting, random_instance
from drawmark.rules.rule_call import call_rules, case_of
from drawmark.rules.rule_set import RuleSet, bind
from rules.bench import plugin, ruleset, says

MOST_WORDS = 30
DOCUMENT = Path(__file__).parents[2] / "openapi" / "drawmark.json"
BY_ARM_SPAN = testing.fitting(
    archer={"draw_length": None, "draw_length_convention": None, "arm_span": "70 in"}
)
GROWING = testing.fitting(
    archer={"draw_control": "draw_stop", "growth_allowance": "1 in"}, bow={"kind": "compound"}
)
# How many texts each has at least.
PLUGINS = {
    **{"core": 6, "club-minimums": 6, "clicker-clearance": 6},
    **{"competition-limits": 6, "junior-growth": 3},
}
# Members of answers that hold names, titles, terms of a sum or settings.
NAMES = {
    *(
        "id",
        "archer",
        "archers",
        "set",
        "sets",
        "nearest_set",
        "safe_sets",
        "longest_recommended_of",
        "longest_minimum_of",
    ),
    *("name", "title", "shaft", "term", "not_told"),
    *("from_rest", "from_shaft_end", "greatest_draw_weight", "margin_beyond_draw"),
    *("minimum_length", "error", "settings"),
}


def faults_of(text):
    """What is wrong with a text."""
    faults = []
    if not text[:1].isupper():
        faults.append("no capital")
    if not text.endswith("."):
        faults.append("no full stop")
    for one in re.split(r"(?<=[.!?:;])\s+", text):
        if len(one.split()) > MOST_WORDS:
            faults.append(f"{len(one.split())} words: {one}")
    return faults


@cache
def texts_of(name):
    """Every text that the rules of a plugin say of random fittings, without regard to `when`."""
    chosen, rng = testing.plugin(name), random.Random(1)
    said = {rule.title for rule in chosen.rules}
    for fitting in (BY_ARM_SPAN, GROWING, *(random_fitting(rng) for _ in range(700))):
        settings = None if chosen.settings is None else random_instance(chosen.settings, rng)
        inputs = {}
        if chosen.inputs is not None and rng.random() < 0.7:
            inputs[name] = random_instance(chosen.inputs, rng)
        rules = RuleSet(name="all", title="All.", rules=bind(chosen, settings))
        try:
            facts = facts_of(fitting)
        except FittingError:
            continue
        for group in rules.groups:
            case = case_of(fitting, facts, group, inputs)
            # The core's calls are not filtered by `when`, so every text is seen that may be said.
            for answer in call_rules(group.selector.select(case).rules, case, trusted=True):
                said |= {one.message for one in answer if isinstance(one, Finding)}
                said |= {one.reason for one in answer if isinstance(one, Floor)}
        said |= {placed.said.message for placed in evaluate(fitting, rules, inputs).findings}
    return said


@pytest.mark.parametrize(("name", "fewest"), PLUGINS.items())
def test_what_rules_say(name, fewest):
    texts = texts_of(name)
    assert len(texts) >= fewest
    assert {text: faults for text in sorted(texts) if (faults := faults_of(text))} == {}


def written_in(path):
    """Texts in a module's source that are neither docstrings nor parts of a longer one."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    nodes = list(ast.walk(tree))
    others = {id(node.value) for node in nodes if isinstance(node, ast.Expr)}
    others |= {id(one) for node in nodes if isinstance(node, ast.JoinedStr) for one in node.values}
    return {
        node.value
        for node in nodes
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in others
        if " " in node.value and node.value != ", "
    }


def test_every_text_in_the_cores_rules_was_heard():
    folder = Path(testing.__file__).parent / "builtin"
    written = set().union(*map(written_in, folder.glob("*.py")))
    assert len(written) > 40
    assert written - texts_of("core") == set()


def texts_in(tree, name=""):
    """Each text with a space in it, with the name of its member."""
    if isinstance(tree, list):
        for below in tree:
            yield from texts_in(below, name)
    elif isinstance(tree, dict):
        for below_name, below in tree.items():
            yield from texts_in(below, below_name)
    elif isinstance(tree, str) and " " in tree:
        yield name, tree


def begins_with_code(text):
    return re.match(r"[`\d]", text) is not None


def faults_of_text(name, text):
    """What is wrong with a text of an answer or the document."""
    faults = faults_of(text)
    if begins_with_code(text) and "no capital" in faults:
        faults.remove("no capital")
    if name == "detail" and re.match(r"(must|is|needed|leaves)\b", text):
        # What is wrong with a field goes on from its pointer, as in "must be one of mm, cm".
        return [fault for fault in faults if not fault.startswith("no ")]
    if name == "summary" and text.endswith("?"):
        faults.remove("no full stop")
    return faults


def test_texts_in_answers_of_the_service():
    said = set()
    for answer in ask_all(list(all_requests())[::16]):
        if answer["type"] == "application/x-ndjson":
            said |= set(texts_in([json.loads(line) for line in answer["body"].splitlines()]))
        elif answer["type"].endswith("json"):
            said |= set(texts_in(json.loads(answer["body"])))
    assert len({name for name, _ in said} - NAMES) >= 10
    assert {
        (name, text): faults
        for name, text in sorted(said)
        if name not in NAMES and (faults := faults_of_text(name, text))
    } == {}


def test_texts_in_the_document():
    found = {
        (name, text)
        for name, text in texts_in(json.loads(DOCUMENT.read_text(encoding="utf-8")))
        if name in ("description", "summary")
    }
    assert len(found) > 400
    assert {
        text: faults for name, text in sorted(found) if (faults := faults_of_text(name, text))
    } == {}


def fails(case):
    raise ValueError("no idea")


@pytest.mark.parametrize(
    "made", [fails, says(None), says("text"), says(*["text"] * 51)], ids=["raises", "a", "b", "c"]
)
def test_reasons_of_rules_that_fail(made):
    outcome = evaluate(testing.fitting(), ruleset(plugin(made), missing=["hall"]))
    assert len(outcome.unevaluated) == 2
    assert [faults_of(one.reason) for one in outcome.unevaluated] == [[], []]


@pytest.mark.parametrize(
    ("text", "whole"),
    [("our hall asks for it", "Our hall asks for it."), ("Done.", "Done."), ("why?", "Why?")],
)
def test_sentences_are_made_whole(text, whole):
    assert sentence(text) == whole
