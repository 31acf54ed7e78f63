"""The kit for plugin authors: it reads tables, and finds what a plugin does wrong."""

import itertools
import time
from dataclasses import dataclass

import pytest

from drawmark import rules
from drawmark.rules import testing
from drawmark.rules.text_values import ReadingError
from rules.bench import Module, plugin, rule, says


def test_a_fitting_in_a_line():
    made = testing.fitting(
        archer={"draw_length": "28.5 in", "draws": None},
        bow={"kind": "recurve", "clicker_range": {"near": "60 mm", "far": "85 mm"}},
        arrow={
            "length": "29 in",
            "point": {"mass": "100 gr"},
            "shaft": {"static_spine": "500 astm"},
        },
    )
    assert made.archer.draw_length == pytest.approx(0.7239)
    assert made.archer.draw_length_convention == "standard"
    assert made.bow.clicker_range.far == pytest.approx(0.085)
    assert made.arrow.point.mass == pytest.approx(6.479891e-3)
    # E I of spine 500: derived from the test's span and load.
    assert made.arrow.shaft.static_spine == pytest.approx(5.0924, abs=5e-5)


def test_draws_are_a_list():
    made = testing.fitting(archer={"draw_length": None, "draws": ["28 in", "28.25 in"]})
    assert made.archer.draws == pytest.approx((0.7112, 0.71755))


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        ({"arrow": {"lenght": "29 in"}}, "arrow.lenght: is unknown"),
        ({"arrow": {"length": 29}}, "arrow.length: is 29, not a text such as"),
        ({"arrow": {"length": "29 gr"}}, "arrow.length: has the unit 'gr'"),
        ({"arrow": {"shaft": {"static_spine": "0 astm"}}}, "which is not above zero"),
        ({"arrow": {"shaft": {"static_spine": "9 astm"}}}, "not between 56.6 astm and 4243.6 astm"),
        ({"archer": {"draws": []}}, "archer.draws: is not a list of at least 1"),
        ({"archer": {"draws": "28 in"}}, "archer.draws: is not a list of at most 100"),
        ({"bow": {"clicker_range": {"near": "1 in"}}}, "bow.clicker_range.far: is missing"),
    ],
)
def test_a_wrong_word_is_told(words, fault):
    with pytest.raises(ReadingError) as caught:
        testing.fitting(**words)
    # On a busy machine the watch may speak first.
    assert any(words in str(caught.value) for words in fault.split("|"))


@dataclass(frozen=True)
class Settings:
    least: float = rules.length(0.3, 1.0, "Least.", default=0.7)


@dataclass(frozen=True)
class Inputs:
    place: float | None = rules.length(0.0, 0.3, "Place.", default=None)


def reach(case):
    yield rules.floor(case.facts.draw + case.facts.back, "reach")
    yield rules.caution("short", when=case.facts.draw < case.settings.least)


GOOD = plugin(rule(reach, "reach", check_many=reach, settings=Settings, inputs=Inputs), name="good")


def test_a_good_plugin_conforms_and_speaks():
    assert testing.conform(GOOD, trials=20) == {"reach": 20}
    assert testing.conform(GOOD, trials=5, settings={"least": "30 in"}) == {"reach": 5}


def test_settings_and_inputs_are_read():
    assert testing.judge(GOOD, settings={"least": "20 in"}).verdict == "pass"
    assert testing.judge(GOOD, settings={"least": "39 in"}).verdict == "caution"
    assert testing.judge(GOOD, inputs={"place": "20 mm"}).applied[0].plugin == "good"
    with pytest.raises(ReadingError, match=r"local\.good\.plaice: is unknown"):
        testing.judge(GOOD, inputs={"plaice": "20 mm"})


def needs_too_little(case):
    return [rules.stop("light", when=case.arrow.mass < 0.01)]


def says_nan(case):
    return [rules.floor(float("nan"), "nan")]


def says_undeclared(case):
    return [rules.floor(0.7, "f")]


COUNT = itertools.count()


def counts(case):
    return [rules.caution(f"call {next(COUNT)}")]


def changes(case):
    object.__setattr__(case.bow, "kind", "other " + case.bow.kind)
    return []


def changes_a_column_a_little(case):
    object.__setattr__(case.archer, "draw_length", case.archer.draw_length * (1 + 1e-12))
    return []


def dawdles(case):
    until = time.thread_time() + 0.15
    while time.thread_time() < until:
        pass
    return []


BAD = {
    "needs more than it says": (rule(needs_too_little), "raised TypeError"),
    "says nonsense": (rule(says_nan), "is not finite"),
    "says what it does not declare": (
        rule(says_undeclared, gives=frozenset({"finding"})),
        "does not declare",
    ),
    "changes its mind": (rule(counts), "does not say the same twice"),
    "changes its case": (rule(changes), "changed its case"),
    "dawdles": (rule(dawdles), "took 0.|longer than 250 ms"),
    "has columns of another rule": (
        rule(says(rules.floor(0.7, "f")), check_many=says(rules.floor(0.71, "f"))),
        "columns: rule r: its check_many says",
    ),
    "has columns without a finding": (
        rule(says(rules.note("n")), check_many=says()),
        "columns: rule r: its check_many says",
    ),
    "has columns that change their case": (
        rule(says(), check_many=changes_a_column_a_little),
        "its check_many changed its case",
    ),
    "has columns that do not fit": (
        rule(says(), check_many=says(rules.floor("0.7", "f"))),
        "rule r: its check_many gave str as a length",
    ),
}


@pytest.mark.parametrize(("made", "fault"), BAD.values(), ids=BAD)
def test_a_bad_plugin_does_not_conform(made, fault):
    with pytest.raises(AssertionError) as caught:
        testing.conform(plugin(made), trials=60)
    assert any(words in str(caught.value) for words in fault.split("|"))


def test_plugins_are_taken_as_modules_or_by_name():
    assert testing.plugin(Module([rule(says())]), "hall").name == "hall"
    assert testing.plugin("core").status == "active"
    with pytest.raises(AssertionError, match="not installed"):
        testing.plugin("no-such-plugin")


def test_a_module_that_the_service_refuses_fails_its_test():
    with pytest.raises(AssertionError, match="would not load"):
        testing.plugin(Module([rule(says(), id="Not Kebab")]))


def test_inputs_keep_their_older_name_for_a_while():
    with pytest.warns(DeprecationWarning, match="Use inputs"):
        outcome = testing.judge(GOOD, local={"place": "20 mm"})
    assert outcome == testing.judge(GOOD, inputs={"place": "20 mm"})
