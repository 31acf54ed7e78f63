"""Every pair of archer and set is judged as the single fit check judges it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from answers.club.evening import judge_alone
from answers.club.people import (
    CORE,
    RULESETS,
    archers,
    arrows,
    hall,
    queued,
    rack,
    with_rules,
)
from drawmark import rules
from drawmark.answers.club import pairs as module
from drawmark.answers.club.pairs import MOST_ONE_BY_ONE, Shooter, judge_pairs
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.arrow_facts import arrow_facts_of_each
from drawmark.fitting.model import Arrow, Point, Shaft, Station
from drawmark.rules.model import VERDICTS
from rules.bench import rule

pytestmark = pytest.mark.usefixtures("patience")

SHOOTERS = st.lists(
    archers().map(lambda both: Shooter(archer=both[0], bow=both[1], local={})),
    min_size=1,
    max_size=5,
)
ARROWS = st.lists(arrows(), min_size=1, max_size=5)


def judge(shooters, kinds, ruleset):
    return judge_pairs(shooters, kinds, arrow_facts_of_each(kinds), ruleset)


@pytest.mark.parametrize("chosen", RULESETS.values(), ids=RULESETS)
@settings(max_examples=60)
@given(SHOOTERS, ARROWS)
def test_each_pair_is_as_if_alone(chosen, shooters, kinds):
    found = judge(shooters, kinds, chosen)
    unevaluated, not_checked = set(), set()
    for row, shooter in enumerate(shooters):
        for column, arrow in enumerate(kinds):
            outcome, margin, inside = judge_alone(shooter, arrow, chosen)
            assert VERDICTS[found.severity[row, column]] == outcome.verdict
            assert found.safe[row, column] == (outcome.verdict in ("pass", "caution"))
            assert found.margin[row, column] == margin
            assert found.in_window[row, column] == inside
            assert found.determinate[row, column] == outcome.determinate
            load = outcome.facts.launch_load
            assert found.launch_load[row, column] == pytest.approx(
                np.nan if load is None else load, rel=1e-12, nan_ok=True
            )
            unevaluated |= {(one.plugin, one.rule) for one in outcome.unevaluated}
            not_checked |= {(one.plugin, one.rule) for one in outcome.not_checked}
    assert [(one.plugin, one.rule) for one in found.unevaluated] == sorted(unevaluated)
    assert [(one.plugin, one.rule) for one in found.not_checked] == sorted(not_checked)


def shooter_of(one, **local):
    return Shooter(archer=one.archer, bow=one.bow, local=local)


def test_pairs_are_parted_into_small_blocks_and_put_together_again(monkeypatch):
    shooters = [shooter_of(queued(str(at), 25 + at / 10)) for at in range(30)]
    kinds = [rack(str(at), 27 + at / 8).arrow for at in range(40)]
    whole = judge(shooters, kinds, CORE)
    monkeypatch.setattr(module, "TOGETHER", 7)
    parted = judge(shooters, kinds, CORE)
    for name in ("severity", "margin", "in_window", "determinate"):
        assert (getattr(whole, name) == getattr(parted, name)).all(), name
    assert 0 < whole.safe.sum() < whole.safe.size


@pytest.mark.parametrize("columns", [True, False], ids=["columns", "pair by pair"])
def test_inputs_of_local_rules_are_each_archers_own(columns):
    @dataclasses.dataclass(frozen=True)
    class Inputs:
        place: float = rules.length(0.0, 1.0, "Place.", default=0.5)

    def check(case):
        yield rules.stop("near", when=case.inputs.place < 0.2)

    def single(case):
        return [said for said in check(case) if said.when]

    made = rule(check if columns else single, check_many=check if columns else None, inputs=Inputs)
    chosen = with_rules(made)
    one = queued("a", 25)
    shooters = [
        shooter_of(one, local=Inputs(place=0.1)),
        shooter_of(one, local=Inputs(place=0.3)),
        shooter_of(one),
    ]
    found = judge(shooters, [rack("s", 30).arrow], chosen)
    assert [VERDICTS[severity] for severity in found.severity[:, 0]] == ["stop", "pass", "pass"]


def test_rules_asked_pair_by_pair_bound_the_number_of_pairs():
    chosen = with_rules(rule(lambda case: [], "slow-reader"))
    shooters = [shooter_of(queued("a", 25))] * 201
    kinds = [rack("s", 30).arrow] * (MOST_ONE_BY_ONE // 200)
    with pytest.raises(FittingError, match=f"slow-reader of local .* at most {MOST_ONE_BY_ONE}"):
        judge(shooters, kinds, chosen)
    assert judge(shooters, kinds, with_rules(rule(hall, check_many=hall))).safe.size


def tapered(count, length):
    """An arrow whose shaft has some stations."""
    stations = tuple(
        Station(position=0.9 * at / (count - 1), relative_stiffness=1 + at / 50, relative_mass=1.0)
        for at in range(count)
    )
    shaft = Shaft(static_spine=4.0, mass_per_length=0.01, stations=stations)
    return Arrow(length=length, shaft=shaft, point=Point(mass=0.006))


def test_tapered_shafts_are_judged_together_if_they_have_as_many_stations(monkeypatch):
    monkeypatch.setattr(module, "MOST_BLOCKS", 4)
    shooters = [shooter_of(queued("a", 25))]
    alike = [tapered(count, 0.7 + at / 100) for count in (2, 5) for at in range(4)]
    assert judge(shooters, alike, CORE).severity.size == 8
    with pytest.raises(
        FittingError, match="at most 4 such combinations, of which tapered ones count twice"
    ):
        judge(shooters, [*alike, tapered(6, 0.8)], CORE)
