"""Needs are met by given fields; nothing but names and quoted words gets into generated code."""

import dataclasses

import pytest

from drawmark.fitting.model import Arrow, Point
from drawmark.rules.needs import compile_needs, fields_behind
from drawmark.rules.rule_call import case_of
from rules.bench import FACTS, FITTING, plugin, ruleset, says

(GROUP,) = ruleset(plugin(says())).groups


def given(fitting, *needs):
    return compile_needs(needs)(case_of(fitting, FACTS, GROUP))


@pytest.mark.parametrize(
    ("need", "is_met"),
    [
        ("arrow.length", True),
        ("arrow.mass", False),
        ("arrow.mass|arrow.length", True),
        ("arrow.point.mass", True),
        ("arrow.shaft.material", False),
        ("arrow", True),
        ("local", False),
        ("local.position", False),
        ("facts.draw", True),
        ("facts.variation", False),
        ("bow.kind=recurve", True),
        ("bow.kind=compound", False),
        ("arrow.shaft.material=wood", True),  # not given: it may be wood
    ],
)
def test_which_needs_are_met(need, is_met):
    fitting = dataclasses.replace(FITTING, arrow=Arrow(length=0.8, point=Point(mass=0.006)))
    assert given(fitting, need, "arrow.length") == (is_met, True)


def test_no_needs():
    assert given(FITTING) == ()


@pytest.mark.parametrize("need", ["arrow.length or 1", "arrow.length)", "bow.kind() is None"])
def test_code_is_no_need(need):
    with pytest.raises(ValueError, match="is not a dotted path"):
        compile_needs([need])


def test_a_word_is_only_ever_text():
    assert given(FITTING, "bow.kind=' or True or '") == (False,)


def test_fields_behind_a_need():
    assert fields_behind("local.position|bow.clicker_range", "aid") == (
        "local.aid.position|bow.clicker_range",
    )
    assert fields_behind("facts.usable_length", "aid") == ("arrow.length",)
