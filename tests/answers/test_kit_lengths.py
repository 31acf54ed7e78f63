"""Lengths to buy: nobody without a safe set, the least waste, and growth over a season."""

from __future__ import annotations

import dataclasses
import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from answers.club.people import CORE, RULESETS, archers, with_rules
from builders.model import archer
from drawmark import rules
from drawmark.answers.club.members import ClubArcher
from drawmark.answers.club.season import Season
from drawmark.answers.common.context import Context
from drawmark.answers.common.recommended_window import window_in
from drawmark.answers.kit_lengths import Request, answer
from drawmark.fitting.faults import FittingError
from drawmark.fitting.limits import TOLERANCE, shorter
from drawmark.fitting.model import Arrow, Bow, ClickerRange, Fitting, Point
from drawmark.fitting.units import INCH
from drawmark.rules.evaluate import evaluate
from rules.bench import rule

pytestmark = pytest.mark.usefixtures("patience")


ROUNDING = 0.0001
BEYOND = 2
"""Inches past the back of the bow that are advised to who learns: common practice, no source."""


def one_of(name, inches, bow=None, **more):
    return ClubArcher(id=name, archer=archer(inches, **more), bow=bow or Bow(kind="recurve"))


def club(*draws):
    return tuple(one_of(f"{inches}", inches) for inches in draws)


def buy(people, most, ruleset=CORE, **more):
    request = Request(archers=tuple(people), most_lengths=most, **more)
    return answer(request, Context(ruleset=ruleset, engine="test"))


def inches_of(said, name="length"):
    return [round(one[name].value / INCH, 6) for one in said["lengths"]]


@pytest.mark.parametrize(
    ("draws", "most", "lengths", "served", "waste"),
    [
        # A coach buys what is advised, never the minimum an inch past the back of the bow.
        pytest.param((25, 27), 2, [25, 27], [["25"], ["27"]], 0, id="one each"),
        pytest.param((25, 27), 1, [27], [["25", "27"]], 2, id="one for both"),
        pytest.param((25, 25.5, 28), 2, [25.5, 28], [["25", "25.5"], ["28"]], 0.5, id="neighbours"),
        pytest.param((25, 25), 3, [25], [["25", "25"]], 0, id="no more than are of use"),
    ],
)
def test_lengths_and_who_gets_them(draws, most, lengths, served, waste):
    people = [
        dataclasses.replace(person, id=f"{place} {person.id}")
        for place, person in enumerate(club(*draws))
    ]
    said = buy(people, most)
    assert inches_of(said) == [draw + BEYOND for draw in lengths]
    assert [[name.split()[1] for name in one["archers"]] for one in said["lengths"]] == served
    assert [one["count"] for one in said["lengths"]] == [len(names) for names in served]
    assert said["waste"].value == pytest.approx(waste * INCH)
    assert all(one["length"].up for one in said["lengths"])


def test_curve_lets_the_club_choose():
    said = buy(club(25, 26, 28), 5)
    wastes = [one["waste"].value / INCH for one in said["curve"]]
    assert [one["lengths"] for one in said["curve"]] == [1, 2, 3]
    assert wastes == pytest.approx([5, 1, 0])


def test_arrows_and_the_saw():
    said = buy(club(25.1), 1, arrows_per_archer=6, saw_increment=0.25 * INCH)
    (one,) = said["lengths"]
    assert (one["count"], one["arrows"]) == (1, 6)
    # The fit check on this saw recommends 27.1 in rounded up: nothing is beyond it.
    assert inches_of(said) == [27.25]
    assert said["waste"].value == 0


def needs_of(people, ruleset):
    found = []
    for one in people:
        outcome = evaluate(Fitting(archer=one.archer, bow=one.bow), ruleset)
        found.append(window_in(outcome, one.bow, None).figure)
    return found


def least_waste(needs, most):
    """Try every choice of lengths, each of which somebody needs."""
    best = math.inf
    for size in range(1, most + 1):
        for chosen in itertools.combinations(sorted(set(needs)), min(size, len(set(needs)))):
            if max(chosen) < max(needs):
                continue
            waste = sum(min(one for one in chosen if one >= need) - need for need in needs)
            best = min(best, waste)
    return best


@st.composite
def people(draw, size=6):
    pairs = draw(st.lists(archers(), min_size=1, max_size=size))
    return [
        ClubArcher(id=f"archer {at}", archer=archer, bow=bow)
        for at, (archer, bow) in enumerate(pairs)
    ]


@pytest.mark.parametrize("name", ["core", "columns", "some that fail", "missing"])
@settings(max_examples=80)
@given(people(), st.integers(1, 4), st.sampled_from([None, 0.25 * INCH]), st.booleans())
def test_nobody_is_left_without_a_safe_set(name, members, most, increment, pointed):
    arrow = Arrow(point=Point(mass=0.006, exposed_length=0.02, sleeve_length=0.005))
    said = buy(
        members,
        most,
        RULESETS[name],
        saw_increment=increment,
        arrow=arrow if pointed else None,
    )
    served = [archer for one in said["lengths"] for archer in one["archers"]]
    unsuited = [one["archer"] for one in said["unsuited"]]
    if said["lengths"]:
        assert sorted(served + unsuited) == sorted(one.id for one in members)
    for one in said["lengths"]:
        sure = "length" in one
        length = one["length" if sure else "length_at_least"].value
        for person in members:
            if person.id not in one["archers"]:
                continue
            fitting = Fitting(
                archer=person.archer,
                bow=person.bow,
                arrow=dataclasses.replace(arrow if pointed else Arrow(), length=length),
            )
            outcome = evaluate(fitting, RULESETS[name])
            assert outcome.verdict != "stop"
            recommended = window_in(outcome, person.bow, fitting.arrow, increment).figure
            assert recommended is None or not shorter(length, recommended - ROUNDING)
            assert not sure or (outcome.determinate and outcome.verdict != "indeterminate")
            told = next(each for each in said["minimums"] if each["archer"] == person.id)
            assert told["verdict"] == outcome.verdict
            ceilings = [placed.said.length for placed in outcome.ceilings]
            assert length <= min(ceilings, default=math.inf) + TOLERANCE
    if name == "missing":
        assert said["status"] == "indeterminate"


@settings(max_examples=150)
@given(people(), st.integers(1, 4))
def test_least_waste_of_all_choices(members, most):
    members = [
        dataclasses.replace(one, archer=dataclasses.replace(one.archer, draw_control="none"))
        for one in members
    ]
    said = buy(members, most)
    stopped = {one["archer"] for one in said["unsuited"] if one["reason"] == "stopped"}
    assert len(stopped) == len(said["unsuited"])
    served = [one for one in members if one.id not in stopped]
    if served:
        wanted = least_waste(needs_of(served, CORE), most)
        assert said["waste"].value == pytest.approx(wanted, abs=1e-8)


def test_an_archer_whom_no_length_helps_keeps_nobody_from_a_set():
    """A bow drawn beyond its maker's limit stops one archer; the other is still served."""
    limited = Bow(kind="recurve", maximum_draw=28 * INCH)
    said = buy([one_of("a", 29, limited), one_of("b", 29.5, Bow(kind="recurve"))], 1)
    assert [(one["archer"], one["reason"]) for one in said["unsuited"]] == [("a", "stopped")]
    assert [one["archers"] for one in said["lengths"]] == [["b"]]


CLICKER = Bow(
    kind="recurve",
    rest_position=0.2 * INCH,
    clicker_range=ClickerRange(near=1.2 * INCH, far=2.4 * INCH),
)
POINT = Arrow(point=Point(exposed_length=0.7 * INCH))


def test_a_clicker_is_reached():
    said = buy([one_of("a", 27.5, CLICKER, draw_control="clicker")], 1, arrow=POINT)
    assert said["clickers"] == "reached"
    assert inches_of(said) == [round(said["minimums"][0]["recommended"].value / INCH, 6)]
    # The blade may stand 1.2 to 2.4 in out, and 0.7 in of the point are past the shaft.
    assert 27.5 - 1.75 + 1.2 - 0.7 <= inches_of(said)[0] <= 27.5 - 1.75 + 2.4 - 0.7
    (one,) = said["minimums"]
    assert one["demanded_by"]["floor"] == "rest-retention"


def test_where_one_length_cannot_reach_every_clicker_it_is_safe_without():
    people = [
        one_of("a", 25, CLICKER, draw_control="clicker"),
        one_of("b", 28, CLICKER, draw_control="clicker"),
    ]
    said = buy(people, 1, arrow=POINT)
    assert said["clickers"] == "not_all_reached"
    assert inches_of(said) == [28 + BEYOND]
    assert buy(people, 2, arrow=POINT)["clickers"] == "reached"


def test_a_clicker_whose_nearest_place_asks_for_more_says_so():
    bow = dataclasses.replace(CLICKER, clicker_range=ClickerRange(near=2.2 * INCH, far=3 * INCH))
    said = buy([one_of("a", 27.5, bow, draw_control="clicker")], 1, arrow=POINT)
    (one,) = said["minimums"]
    # the draw to the pivot point, 2.2 in to the blade, less what the point stands out
    assert one["minimum"].value == pytest.approx((27.5 - 1.75 + 2.2 - 0.7) * INCH)
    assert one["demanded_by"]["floor"] == "clicker-range"


def test_growth_of_a_season():
    people = [one_of("junior", 25), one_of("adult", 27, growth_allowance=0.0)]
    said = buy(people, 2, season=Season(months=8, growth_rate=1.5 * INCH))
    assert inches_of(said) == [26 + BEYOND, 27 + BEYOND]
    assert said["season"]["growth"].value == pytest.approx(INCH)
    assert said["season"]["source"] == "request"


def test_growth_without_a_rate_is_that_of_the_fastest():
    said = buy(club(25), 1, season=Season(months=12))
    # Tanner and Davies (read): 11.9 cm a year, the largest of the boys' 97th centile; by the
    # trade's ratio of arm span to draw, 2.5, that is 47.6 mm of draw
    assert said["season"]["growth"].value == pytest.approx(0.0476)
    assert inches_of(said) == [pytest.approx(25 + BEYOND + 47.6 / 25.4)]
    assert said["season"]["source"] == "tanner-davies"


def test_floors_of_rules_are_named():
    said = buy(club(25, 26), 2, RULESETS["columns"])
    for one in said["minimums"]:
        assert one["demanded_by"]["plugin"] == "local"
        assert one["demanded_by"]["reason"] == "our hall asks for more"


def test_a_minimum_in_doubt_makes_the_answer_say_so():
    said = buy(club(25), 1, RULESETS["missing"])
    assert said["status"] == "indeterminate"
    assert inches_of(said, "length_at_least") == [25 + BEYOND]
    assert "minimum_at_least" in said["minimums"][0]


def test_what_a_rule_does_not_allow_is_not_bought():
    strict = with_rules(
        rule(lambda case: [rules.ceiling(27.5 * INCH, "no longer")], gives=frozenset({"ceiling"}))
    )
    said = buy(club(25, 28), 2, strict)
    assert inches_of(said) == [25 + BEYOND]
    assert said["unsuited"] == [{"archer": "28", "reason": "longer_than_allowed"}]
    narrow = with_rules(
        rule(
            lambda case: [rules.ceiling(case.facts.draw + 3 * INCH, "no longer")],
            gives=frozenset({"ceiling"}),
        )
    )
    said = buy(club(25, 28), 1, narrow)
    assert said["lengths"] == []
    assert "waste" not in said
    assert said["fewest_lengths"] == 2


def test_a_rule_that_always_asks_for_more_leaves_the_archer_in_doubt():
    def more(case):
        if case.arrow.length is not None:
            yield rules.floor(case.arrow.length + 0.01, "more")

    greedy = with_rules(rule(more, gives=frozenset({"floor"})))
    said = buy(club(25, 28), 2, greedy)
    assert said["lengths"] == []
    assert {one["reason"] for one in said["unsuited"]} == {"in_doubt"}


def test_a_rule_that_always_allows_a_little_less_is_not_asked_for_ever():
    asked = []

    def less(case):
        if case.arrow.length is not None:
            asked.append(case.arrow.length)
            yield rules.ceiling(case.arrow.length - 0.0001, "a little less")

    said = buy(club(25, 28), 2, with_rules(rule(less, gives=frozenset({"ceiling"}))))
    assert said["lengths"] == []
    assert len(asked) < 100


def test_a_rule_that_knows_only_the_arrow_is_asked_about_it():
    def stiff(case):
        if case.arrow.length is not None and case.arrow.length < 27.5 * INCH:
            yield rules.floor(27.5 * INCH, "our shortest")

    said = buy(club(25), 1, with_rules(rule(stiff, gives=frozenset({"floor"}))))
    # Half an inch above the hall's minimum, beyond the caution.
    assert inches_of(said) == [28]
    assert said["minimums"][0]["demanded_by"]["reason"] == "our shortest"


def test_whom_the_fit_check_stops_at_every_length_gets_none():
    # "Not from that bow": a hall's limit that no length of arrow helps.
    heavy = Bow(kind="recurve", draw_weight=200.0, draw_weight_basis="own_draw")
    said = buy([one_of("light", 25), one_of("heavy", 25, heavy)], 1, RULESETS["columns"])
    assert [one["archers"] for one in said["lengths"]] == [["light"]]
    assert said["unsuited"] == [{"archer": "heavy", "reason": "stopped"}]


def test_an_archer_whom_a_longer_arrow_stops_gets_the_recommended_length():
    # "Hers are too long to share: a longer shaft is a weaker one."
    def weak(case):
        if case.arrow.length is not None and case.archer.draw_length < 26 * INCH:
            yield rules.stop("too weak", when=case.arrow.length > (25.1 + BEYOND) * INCH)

    said = buy(club(25, 28), 2, with_rules(rule(weak)))
    assert inches_of(said) == [25 + BEYOND, 28 + BEYOND]
    assert {one["verdict"] for one in said["minimums"]} == {"pass"}
    alone = buy(club(25, 28), 1, with_rules(rule(weak)))
    assert (alone["lengths"], alone["fewest_lengths"]) == ([], 2)


def test_an_archer_in_doubt_makes_the_length_and_the_answer_say_so():
    # "The hall asks for the mass of every arrow, and nobody has weighed these."
    doubtful = with_rules(rule(lambda case: [], needs=("arrow.mass",), required=True))
    said = buy(club(25), 1, doubtful)
    assert said["status"] == "indeterminate"
    assert inches_of(said, "length_at_least") == [25 + BEYOND]
    assert said["minimums"][0]["verdict"] == "indeterminate"
    assert [one["rule"] for one in said["unevaluated"]] == ["r"]


@pytest.mark.parametrize(
    ("more", "path"),
    [
        pytest.param({"arrow": Arrow(length=0.7)}, ("arrow", "length"), id="a length"),
        pytest.param(
            {"arrow": Arrow(point=Point(centre=0.05, exposed_length=0.02))},
            ("arrow", "point", "centre"),
            id="an arrow that cannot be built",
        ),
    ],
)
def test_faults_of_the_arrow(more, path):
    with pytest.raises(FittingError) as caught:
        buy(club(25), 1, **more)
    assert [fault.path for fault in caught.value.faults] == [path]
