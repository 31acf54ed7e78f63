"""What a plugin's rules must look like to be let in."""

from dataclasses import dataclass, replace
from functools import partial

import pytest

from drawmark import rules
from drawmark.rules.hook import RuleError, examine
from drawmark.rules.registry import register
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
    "too many": ([replace(GOOD, id=f"r-{n}") for n in range(51)], "not 51"),
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
    "default out of range": ([replace(GOOD, settings=OutOfRange)], "settings.least: its default"),
    "default no choice": ([replace(GOOD, inputs=WrongChoice)], "inputs.way: its default"),
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
    with pytest.raises(RuleError) as caught:
        examine(made)
    assert fault in str(caught.value)


def test_every_fault_is_told_at_once():
    with pytest.raises(RuleError) as caught:
        examine([replace(GOOD, id="No", title="", needs=("arrow.x",))])
    assert str(caught.value).count("rule 0: ") == 3


class Method:
    def check(self, case):
        return []


def two(first, second="default"):
    return []


@pytest.mark.parametrize(
    "check", [says(), Method().check, two, partial(two, second=1), lambda *cases: []]
)
def test_anything_that_takes_one_case_is_a_check(check):
    assert examine([rule(check, "good")])


def test_good_rules_are_let_in():
    made = (
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
    )
    assert examine(iter(made)) == made


class Bare:
    """No hook."""


class Misspelt:
    @rules.hookimpl
    def drawmark_rule(self):
        return [GOOD]


class Unmarked:
    def drawmark_rules(self):
        return [GOOD]


class Nothing:
    @rules.hookimpl
    def drawmark_rules(self):
        return None


@pytest.mark.parametrize("module", [Bare(), Misspelt(), Unmarked(), Nothing()])
def test_a_module_without_the_hook_is_refused(module):
    with pytest.raises(Exception, match=r"hook|rules"):
        register("local", "1", module)


def test_a_bad_name_is_refused():
    with pytest.raises(RuleError, match="kebab-case"):
        register("My Plugin", "1", Module([GOOD]))
