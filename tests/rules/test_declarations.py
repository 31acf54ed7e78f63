"""What a plugin must declare to be let in."""

import math
import re
from dataclasses import InitVar, dataclass, field, make_dataclass, replace
from functools import partial

import numpy as np
import pytest

from drawmark import rules
from drawmark.fitting.fields import REQUIRED, local, part
from drawmark.rules.conformance import conform
from drawmark.rules.declarations import declaration_faults
from drawmark.rules.hook import RuleError
from drawmark.rules.registry import Plugin, Registry, register
from drawmark.web import create_app
from drawmark.web.wire.installed_rules import core_rules, installed_rules
from rules.bench import Module, rule, says

GOOD = rule(says(), "good")


@dataclass(frozen=True)
class Settings:
    least: float = rules.length(0.0, 1.0, "Least.", default=0.5)


@dataclass(frozen=True)
class Others:
    most: float = rules.number(0.0, 1.0, "Most.")


@dataclass
class Thawed:
    least: float = rules.length(0.0, 1.0, "Least.", default=0.5)


@dataclass(frozen=True)
class Undeclared:
    least: float = 0.5


@dataclass(frozen=True)
class OutOfRange:
    least: float = rules.length(0.0, 1.0, "Least.", default=1.5)


@dataclass(frozen=True)
class WrongChoice:
    way: str = rules.choice(("a", "b"), "Way.", default="c")


@dataclass(frozen=True)
class Lists:
    several: tuple[float, ...] = rules.quantity(
        "length", 0.0, 1.0, "Several.", default=(), fewest=0, most=3
    )


@dataclass(frozen=True)
class Contradictory:
    least: float = rules.length(0.0, 1.0, "Least.", default=0.5)

    def __post_init__(self):
        raise ValueError("never right")


async def later(case):
    return []


FAULTS = {
    "no rule": ([], "1 to 50 rules, not 0"),
    "too many": ([replace(GOOD, id=f"r-{n}") for n in range(51)], "not 51 or more"),
    "something else": (["rule"], "rule 0: str is not a Rule"),
    "twice the same id": ([GOOD, GOOD], "rule good: two rules have this id"),
    "id in capitals": ([replace(GOOD, id="Good")], "is not kebab-case"),
    "id with a blank": ([replace(GOOD, id="my rule")], "is not kebab-case"),
    "id with an underscore": ([replace(GOOD, id="my_rule")], "is not kebab-case"),
    "id without end": ([replace(GOOD, id="x" * 61)], "is not kebab-case"),
    "id that is none": ([replace(GOOD, id=None)], "is not kebab-case"),
    "no title": ([replace(GOOD, title=" ")], "title is not text, or is empty"),
    "odd source": ([replace(GOOD, source=3)], "source is neither"),
    "required in words": ([replace(GOOD, required="yes")], "required is neither True nor False"),
    "gives nothing": ([replace(GOOD, gives=frozenset())], "gives is not"),
    "gives a list": ([replace(GOOD, gives=["floor"])], "gives is not"),
    "gives a promise": ([replace(GOOD, gives=frozenset({"advice"}))], "gives is not"),
    "check is none": ([replace(GOOD, check=None)], "check cannot be called"),
    "check takes nothing": ([replace(GOOD, check=lambda: [])], "exactly one argument"),
    "check takes two": ([replace(GOOD, check=lambda a, b: [])], "exactly one argument"),
    "check is asynchronous": ([replace(GOOD, check=later)], "check is asynchronous"),
    "check_many is text": ([replace(GOOD, check_many="check")], "check_many cannot be called"),
    "applies takes two": ([replace(GOOD, applies=lambda a, b: True)], "applies does not take"),
    "needs is text": ([replace(GOOD, needs="arrow.length")], "needs is not a tuple"),
    "needs nonsense": ([replace(GOOD, needs=("arrow.lenght",))], "'arrow.lenght' is not a field"),
    "needs deeper": ([replace(GOOD, needs=("arrow.length.x",))], "is not a field"),
    "needs of a list": (
        [replace(GOOD, needs=("arrow.shaft.stations.position",))],
        "is not a field",
    ),
    "needs an unknown fact": ([replace(GOOD, needs=("facts.luck",))], "is not a field"),
    "needs facts": ([replace(GOOD, needs=("facts",))], "is not a field"),
    "needs inputs it has not": ([replace(GOOD, needs=("local.place",))], "is not a field"),
    "needs other inputs": (
        [replace(GOOD, inputs=Settings, needs=("local.place",))],
        "is not a field",
    ),
    "one alternative is nonsense": (
        [replace(GOOD, needs=("arrow.mass|arrow.weight",))],
        "'arrow.weight' is not a field",
    ),
    "settings are no dataclass": ([replace(GOOD, settings=dict)], "settings is not a dataclass"),
    "settings are an instance": ([replace(GOOD, settings=Settings())], "is not a dataclass"),
    "settings can change": ([replace(GOOD, settings=Thawed)], "settings is not frozen"),
    "settings undeclared": ([replace(GOOD, settings=Undeclared)], "settings.least is not declared"),
    "default out of range": (
        [replace(GOOD, settings=OutOfRange)],
        "settings.least has a default that is 1.5",
    ),
    "default no choice": (
        [replace(GOOD, inputs=WrongChoice)],
        "inputs.way has a default that is 'c'",
    ),
    "lists": ([replace(GOOD, inputs=Lists)], "inputs.several is not a single plain value"),
    "defaults that contradict": (
        [replace(GOOD, settings=Contradictory)],
        "settings cannot be made of its defaults: never right",
    ),
    "two kinds of settings": (
        [replace(GOOD, settings=Settings), replace(GOOD, id="b", settings=Others)],
        "settings: all rules of a plugin share one dataclass",
    ),
}


@pytest.mark.parametrize(("made", "fault"), FAULTS.values(), ids=FAULTS)
def test_faults_are_told(made, fault):
    faults = declaration_faults(made)
    assert any(fault in one for one in faults), faults
    assert all(one.isprintable() for one in faults)


def test_every_fault_is_told_at_once():
    faults = declaration_faults([replace(GOOD, id="No", title="", needs=("arrow.x",))])
    assert [fault.startswith("rule 0: ") for fault in faults] == [True] * 3


def of(declaration, name="given"):
    """Make a dataclass with one declared field."""
    return make_dataclass("Given", [(name, object, declaration)], frozen=True, kw_only=True)


class Odd(int):
    """A whole number of a type of its own."""


# Each is tried as a setting and as an input.
FIELD_FAULTS = {
    "range upside down": (rules.length(1.0, 0.5, "d"), "low end, 1, is not below its high end"),
    "range without width": (rules.number(1.0, 1.0, "d"), "low end, 1, is not below its high end"),
    "range without end": (rules.number(0.0, math.inf, "d"), "not of two finite numbers"),
    "range that is no number": (rules.number(math.nan, 1.0, "d"), "not of two finite numbers"),
    "range in words": (rules.length("0", 1.0, "d"), "not of two finite numbers"),
    "range of flags": (rules.mass(False, True, "d"), "not of two finite numbers"),
    "range of numpy": (rules.force(0.0, np.float32(1), "d"), "not of two finite numbers"),
    "whole range of halves": (rules.whole(0.5, 3.5, "d"), "not of whole numbers"),
    "whole range beyond JSON": (rules.whole(0, 2**64, "d"), "not of whole numbers"),
    "unknown dimension": (rules.quantity("speed", 0.0, 1.0, "d"), "a dimension that is not one of"),
    "spine of nothing": (
        rules.quantity("static_spine", 0.0, 1.0, "d"),
        "does not begin above zero",
    ),
    "meaning left out": (rules.flag(""), "no meaning in words"),
    "meaning of None": (rules.flag(None), "no meaning in words"),
    "meaning that JSON cannot hold": (rules.flag("\ud800"), "no meaning in words"),
    "choices in a list": (rules.choice(["a", "b"], "d"), "not a tuple of texts"),
    "choices in one text": (rules.choice("ab", "d"), "not a tuple of texts"),
    "choices of numbers": (rules.choice((1, 2), "d"), "not a tuple of texts"),
    "choices that JSON cannot hold": (rules.choice(("a", "\udfff"), "d"), "not a tuple of texts"),
    "no choice": (rules.choice((), "d"), "not a tuple of texts"),
    "one choice twice": (rules.choice(("a", "a"), "d"), "the same choice twice"),
    "text without end": (rules.text(10**9, "d"), "a greatest length that is not"),
    "text of nothing": (rules.text(0, "d"), "a greatest length that is not"),
    "default of another type": (rules.whole(0, 5, "d", default=Odd(3)), "which is no plain value"),
    "default that is unordered": (rules.flag("d", default=1), "neither true nor false"),
    "several": (rules.quantity("length", 0.0, 1.0, "d", most=3), "not a single plain value"),
    "a part": (part(Settings, "d"), "not a single plain value"),
    "local inputs": (local("d"), "not a single plain value"),
    "plain field": (field(default=3), "is not declared"),
}


@pytest.mark.parametrize("role", ["settings", "inputs"])
@pytest.mark.parametrize(("declaration", "fault"), FIELD_FAULTS.values(), ids=FIELD_FAULTS)
def test_faults_of_fields_are_told(declaration, fault, role):
    (told,) = declaration_faults([replace(GOOD, **{role: of(declaration)})])
    assert told.startswith(f"rule good: {role}.given ")
    assert fault in told


@pytest.mark.parametrize("name", ["Given", "größe", "_given", "x" * 61])
def test_fields_have_plain_names(name):
    (told,) = declaration_faults([replace(GOOD, inputs=of(rules.flag("d"), name))])
    assert "is not a name of lower-case letters" in told


def test_no_request_states_a_frequency():
    frequency = of(rules.quantity("frequency", 1.0, 100.0, "d"))
    assert declaration_faults([replace(GOOD, settings=frequency)]) == []
    (told,) = declaration_faults([replace(GOOD, inputs=frequency)])
    assert "is a frequency, which no request can state" in told


@pytest.mark.parametrize(
    ("role", "default", "instead", "fault"),
    [
        ("inputs", 1.0, "Use other.", None),
        ("inputs", REQUIRED, "Use other.", "has no default"),
        ("inputs", 1.0, " ", "does not say what to use instead"),
        ("settings", 1.0, "Use other.", "which only an input can be"),
    ],
)
def test_only_an_input_that_may_be_left_out_is_deprecated(role, default, instead, fault):
    number = rules.number(0.0, 2.0, "d", default=default)
    given = of(rules.deprecated(number, since="2027-03-01", instead=instead))
    told = declaration_faults([replace(GOOD, **{role: given})])
    assert len(told) == (fault is not None)
    assert fault is None or fault in told[0]


def test_a_dataclass_is_made_of_its_fields_alone():
    @dataclass(frozen=True)
    class More:
        least: float = rules.length(0.0, 1.0, "Least.")
        other: InitVar[int] = 3

    (told,) = declaration_faults([replace(GOOD, settings=More)])
    assert "settings is not made of its fields alone" in told


@pytest.mark.parametrize(("declaration", "fault"), FIELD_FAULTS.values(), ids=FIELD_FAULTS)
def test_conformance_tells_what_loading_tells(declaration, fault):
    made = Plugin(name="local", version="1", rules=(replace(GOOD, inputs=of(declaration)),))
    with pytest.raises(AssertionError, match=re.escape(fault)):
        conform(made, trials=1)


SOUND = {
    "length": rules.length(-0.1, 0.1, "d"),
    "mass": rules.mass(0.0, 1.0, "d", default=0.5),
    "spine": rules.quantity("static_spine", 1.0, 20.0, "d", default=None),
    "number": rules.number(-1, 1e300, "d", default=0),
    "whole": rules.whole(-(2**53), 2**53, "d", default=-7),
    "choice": rules.choice(("left", "länks"), "d"),
    "flag": rules.flag("d", default=False),
    "text": rules.text(500, "d", default=""),
}


@pytest.mark.parametrize("declaration", SOUND.values(), ids=SOUND)
def test_what_is_let_in_starts(declaration):
    cls = of(declaration)
    made = register("local", "1", Module([replace(GOOD, settings=cls, inputs=cls)]))
    registry = Registry(plugins=(*core_rules().registry.plugins, made))
    client = create_app(rules=installed_rules(registry=registry)).test_client()
    for path in ("/docs", "/openapi.json", "/v1/plugins", "/readyz"):
        assert client.get(path).status_code == 200


class Method:
    def check(self, case):
        return []


def two(first, second="default"):
    return []


@pytest.mark.parametrize(
    "check", [says(), Method().check, two, partial(two, second=1), lambda *cases: []]
)
def test_anything_that_takes_one_case_is_a_check(check):
    assert declaration_faults([rule(check, "good")]) == []


def test_good_rules_are_let_in():
    made = [
        replace(
            GOOD,
            settings=Settings,
            inputs=Others,
            needs=(
                "arrow.length",
                "bow.clicker_range.near",
                "facts.draw_weight",
                "local",
                "local.most|arrow.mass",
            ),
        ),
        rule(says(), "second"),
    ]
    assert register("local", "1", Module(iter(made))).rules == tuple(made)


class Bare:
    """No hook."""


class Misspelt:
    @rules.hookimpl
    def drawmark_rule(self):
        return [GOOD]


class Unmarked:
    def drawmark_rules(self):
        return [GOOD]


class Raises:
    @rules.hookimpl
    def drawmark_rules(self):
        raise RuleError("no luck")


def endless():
    while True:
        yield GOOD


@pytest.mark.parametrize(
    ("module", "words"),
    [
        (Bare(), "no hook named drawmark_rules"),
        (Misspelt(), "drawmark_rule"),
        (Unmarked(), "no hook named drawmark_rules"),
        (Raises(), "no luck"),
        (Module(None), "its hook returned None; return a list of rules"),
        (Module(GOOD), "its hook returned one Rule; return a list of rules"),
        (Module(7), "its hook returned int; return a list of rules"),
        (Module([]), "1 to 50 rules, not 0"),
        (Module(endless()), "1 to 50 rules, not 51 or more"),
        (Module("rule"), "rule 0: str is not a Rule"),
    ],
)
def test_a_hook_that_gives_no_rules_is_told(module, words):
    with pytest.raises(Exception, match=words):
        register("local", "1", module)


def test_a_bad_name_is_refused():
    with pytest.raises(RuleError, match="kebab-case"):
        register("My Plugin", "1", Module([GOOD]))
