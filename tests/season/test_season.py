"""A season at an invented club: in each situation the answer must be a coach's.

The tables are the documentation: each row says what a coach would say and why. The expected
figures are worked out by hand beside them, never taken from an answer. Which words of the trade
and figures of common practice a row rests on is said there; most have no source.
"""

from __future__ import annotations

import importlib

import pytest

from season.situation import ABSENT, Between, Situation, find, fits, one_of

TABLES = (
    "first_evening",
    "growing",
    "growth_by_month",
    "spread",
    "clicker",
    "bows",
    "arrows",
    "stiffness",
    "cutting",
    "ordering",
    "rack",
    "replacing",
    "sorting",
    "buying",
    "asking",
)
SITUATIONS = {
    f"{table}: {name}": situation
    for table in TABLES
    for name, situation in importlib.import_module(f"season.{table}").SITUATIONS.items()
}


@pytest.mark.parametrize("name", SITUATIONS)
def test_answer_is_a_coachs(ask, name):
    situation = SITUATIONS[name]
    status, answer = ask(situation.asks, situation.sends)
    assert list(situation.faults_of(status, answer)) == [], situation.coach


def test_a_season_has_at_least_sixty_situations():
    assert len(SITUATIONS) >= 60


@pytest.mark.parametrize("name", SITUATIONS)
def test_a_row_says_why_and_expects_something(name):
    situation = SITUATIONS[name]
    assert not situation.coach[0].islower()
    assert situation.coach.endswith(".")
    assert situation.gives or situation.says


# The table itself must be able to fail.
ANSWER = {"verdict": "stop", "findings": [{"rule": "a", "limit": {"value": 29.0, "unit": "in"}}]}


@pytest.mark.parametrize(
    ("gives", "right"),
    [
        ({"verdict": "stop"}, True),
        ({"verdict": "pass"}, False),
        ({"verdict": one_of("stop", "pass")}, True),
        ({"verdict": one_of("caution", "pass")}, False),
        ({"findings/rule=a/limit": {"value": 29.001, "unit": "in"}}, True),
        ({"findings/rule=a/limit": {"value": 29.01, "unit": "in"}}, False),
        ({"findings/rule=a/limit": {"value": 29.0, "unit": "mm"}}, False),
        ({"findings/0/limit": Between(28, 30, "in")}, True),
        ({"findings/0/limit": Between(27, 28, "in")}, False),
        ({"findings/rule=b": ABSENT}, True),
        ({"findings/rule=a": ABSENT}, False),
        ({"findings/1/rule": "a"}, False),
    ],
)
def test_a_wrong_answer_is_found(gives, right):
    situation = Situation(coach="Any.", asks="", sends={}, gives=gives)
    assert (not list(situation.faults_of(200, ANSWER))) is right


def test_words_and_status_are_looked_at():
    situation = Situation(coach="Any.", asks="", sends={}, gives={}, says=("go",), never=("stop",))
    assert len(list(situation.faults_of(200, ANSWER))) == 2
    assert len(list(situation.faults_of(422, ANSWER))) == 1


def test_a_way_that_leads_nowhere_finds_nothing():
    assert find(ANSWER, "findings/rule=b/limit") is ABSENT
    assert not fits(ABSENT, "stop")
