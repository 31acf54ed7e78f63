"""Nonsense of every kind, said of single cases and of columns."""

import math

import numpy as np
import pytest

from drawmark import rules
from drawmark.rules.evaluate import evaluate
from drawmark.rules.evaluate_batch import evaluate_many
from drawmark.rules.validation import UnsoundError, is_text, validate
from rules.bench import FACTS, FITTING, core, core_floor, plugin, rule, ruleset, says

EVERYTHING = frozenset(("floor", "ceiling", "finding"))


class Floor(rules.Floor, frozen=True, kw_only=True):
    """Looks like a floor."""


class Figure(float):
    """Looks like a figure."""


class Liar(float):
    """Says something else of itself."""

    def __float__(self):
        raise ZeroDivisionError

    def __abs__(self):
        return 0.0


class Array(np.ndarray):
    """Looks like an array."""


class Unhashable(type):
    """Of a type that cannot be looked up."""

    def __hash__(cls):
        raise TypeError("no hash")


NONSENSE = {
    "None": None,
    "a number": 0.7,
    "text": "stop",
    "a dictionary": {"severity": "stop"},
    "the class": rules.Floor,
    "a subclass": Floor(length=0.7, reason="f"),
    "not a number": rules.floor(math.nan, "f"),
    "infinite": rules.floor(math.inf, "f"),
    "minus infinite": rules.floor(-math.inf, "f"),
    "too large for a float": rules.floor(10**400, "f"),
    "millimetres": rules.floor(711.2, "f"),
    "inches": rules.floor(28.0, "f"),
    "text as a length": rules.floor("0.7", "f"),
    "a truth as a length": rules.floor(True, "f"),
    "None as a length": rules.floor(None, "f"),
    "complex": rules.floor(1j, "f"),
    "an array as a length": rules.floor(np.array([0.7, 0.8]), "f"),
    "an array without shape": rules.floor(np.array(0.7), "f"),
    "no reason": rules.floor(0.7, ""),
    "a reason of 501 signs": rules.floor(0.7, "x" * 501),
    "a lone surrogate": rules.floor(0.7, "\ud800"),
    "a control sign": rules.floor(0.7, "a\x00b"),
    "bytes as a reason": rules.floor(0.7, b"f"),
    "an odd id": rules.floor(0.7, "f", id=7),
    "an odd source": rules.floor(0.7, "f", source=["book"]),
    "terms in a list": rules.floor(0.7, "f", terms=[rules.Term("t", 0.7)]),
    "terms that are none": rules.floor(0.7, "f", terms=(0.7,)),
    "a term that is no number": rules.floor(0.7, "f", terms=(rules.Term("t", math.nan),)),
    "a term without a name": rules.floor(0.7, "f", terms=(rules.Term("", 0.7),)),
    "too many terms": rules.floor(0.7, "f", terms=(rules.Term("t", 0.0),) * 21),
    "a ceiling that is no number": rules.ceiling(math.nan, "c"),
    "a ceiling in millimetres": rules.ceiling(800.0, "c"),
    "an unknown severity": rules.Finding(severity="fatal", message="m"),
    "a verdict as severity": rules.Finding(severity="pass", message="m"),
    "a severity that cannot be looked up": rules.Finding(severity=[], message="m"),
    "no message": rules.stop(""),
    "None as a message": rules.stop(None),
    "a condition that is a number": rules.stop("m", when=1),
    "a condition that is None": rules.stop("m", when=None),
    "a condition that is an array": rules.stop("m", when=np.array([True])),
    "measured without a kind": rules.stop("m", measured=0.7),
    "measured in an unknown kind": rules.stop("m", measured=rules.Measure(0.7, "furlongs")),
    "measured is no number": rules.stop("m", measured=rules.Measure(math.nan)),
    "limit is no number": rules.stop("m", limit=rules.Measure(math.inf, "mass")),
    "rounding that is a number": rules.stop("m", limit=rules.Measure(0.7, "length", 1)),
    "a spine of nothing": rules.stop("m", measured=rules.Measure(0.0, "static_spine")),
    "fields in a list": rules.stop("m", fields=["arrow.length"]),
    "a figure that lies about itself": rules.floor(Liar(28.0), "f"),
    "a masked array as a length": rules.floor(np.ma.array([0.7] * 3, mask=[1, 0, 0]), "f"),
    "a masked array as a condition": rules.stop("m", when=np.ma.array([True] * 3, mask=[1, 0, 0])),
    "an array of objects": rules.floor(np.array([0.7] * 3, dtype=object), "f"),
    "a condition of objects": rules.stop("m", when=np.array([True] * 3, dtype=object)),
    "an array of a subclass": rules.floor(np.full(3, 0.7).view(Array), "f"),
    "a condition of a subclass": rules.stop("m", when=np.full(3, True).view(Array)),
    "dates": rules.floor(np.zeros(3, dtype="datetime64[s]"), "f"),
    "texts": rules.floor(np.array(["0.7"] * 3), "f"),
    "the other byte order": rules.floor(np.full(3, 0.7, dtype=">f8"), "f"),
    "measured in a masked array": rules.stop(
        "m", measured=rules.Measure(np.ma.array([0.7] * 3, mask=[1, 0, 0]))
    ),
    "fields that are none": rules.stop("m", fields=(7,)),
}


@pytest.mark.parametrize("said", NONSENSE.values(), ids=NONSENSE)
@pytest.mark.parametrize("size", [None, 3])
def test_nonsense_is_refused(said, size):
    with pytest.raises(UnsoundError):
        validate([said], EVERYTHING, size)


@pytest.mark.parametrize("said", NONSENSE.values(), ids=NONSENSE)
def test_nonsense_never_passes(said):
    """Whatever else the rule said is dropped with it, and the answer is in doubt."""
    local = plugin(says(rules.caution("c"), said))
    outcome = evaluate(FITTING, ruleset(core(core_floor), local), facts=FACTS)
    assert outcome.verdict == "indeterminate"
    assert not outcome.determinate
    assert outcome.minimum_usable == 0.73
    assert [one.plugin for one in outcome.unevaluated] == ["local"]
    assert is_text(outcome.unevaluated[0].reason)
    many = evaluate_many(FITTING, ruleset(core(core_floor), local), 3, facts=FACTS)
    assert [many.item(at) for at in range(3)] == [outcome] * 3


@pytest.mark.parametrize("gift", sorted(EVERYTHING))
def test_only_what_was_declared_may_be_said(gift):
    said = {"floor": rules.floor(0.7, "f"), "ceiling": rules.ceiling(0.7, "c")}.get(
        gift, rules.stop("s")
    )
    assert validate([said], frozenset({gift})) == [said]
    with pytest.raises(UnsoundError, match=f"said a {gift}, which it does not declare"):
        validate([said], EVERYTHING - {gift})


def test_fifty_things_are_enough():
    assert len(validate([rules.note("n")] * 50, EVERYTHING)) == 50
    with pytest.raises(UnsoundError):
        validate([rules.note("n")] * 51, EVERYTHING)


@pytest.mark.parametrize(
    "figure",
    [np.float64(0.75), np.float32(0.75), Figure(0.75), np.int64(1), 1, np.uint8(1)],
    ids=lambda figure: type(figure).__name__,
)
def test_figures_of_other_makes_become_plain(figure):
    said = validate(
        [
            rules.floor(figure, "f", terms=(rules.Term("t", figure),), when=np.True_),
            rules.ceiling(figure, "c"),
            rules.stop("s", measured=rules.Measure(figure), when=np.bool_(True)),
        ],
        EVERYTHING,
    )
    values = [said[0].length, said[0].terms[0].value, said[1].length, said[2].measured.value]
    assert values == [float(figure)] * 4
    assert {type(value) for value in values} == {float}
    assert said[0].when is True
    assert said[2].when is True


BAD_COLUMNS = {
    "too short": np.array([0.7, 0.7]),
    "too many dimensions": np.full((3, 1), 0.7),
    "single precision": np.full(3, 0.7, dtype=np.float32),
    "whole numbers": np.ones(3, dtype=np.int64),
    "objects": np.array([0.7, None, 0.7]),
    "one is no number": np.array([0.7, math.nan, 0.7]),
    "one is infinite": np.array([0.7, 0.7, math.inf]),
    "one is far too long": np.array([0.7, 711.0, 0.7]),
}


@pytest.mark.parametrize("column", BAD_COLUMNS.values(), ids=BAD_COLUMNS)
def test_columns_must_fit(column):
    with pytest.raises(UnsoundError):
        validate([rules.floor(column, "f")], EVERYTHING, 3)


@pytest.mark.parametrize(
    "when", [np.array([True, False]), np.array([1, 0, 1]), np.array([True, None, False])]
)
def test_masks_must_fit(when):
    with pytest.raises(UnsoundError):
        validate([rules.stop("s", when=when)], EVERYTHING, 3)


def test_figures_count_only_where_the_condition_holds():
    holds = np.array([True, False, True])
    length = np.array([0.7, math.nan, 0.8])
    (floor,) = validate([rules.floor(length, "f", when=holds)], EVERYTHING, 3)
    assert floor.length[holds].tolist() == [0.7, 0.8]
    nowhere = rules.stop("s", when=np.zeros(3, dtype=bool), measured=rules.Measure(length))
    assert validate([nowhere], EVERYTHING, 3) == []


@pytest.mark.parametrize("column", BAD_COLUMNS.values(), ids=BAD_COLUMNS)
def test_a_bad_column_is_asked_for_item_by_item(column):
    made = rule(says(rules.floor(0.75, "f")), check_many=says(rules.floor(column, "f")))
    many = evaluate_many(FITTING, ruleset(plugin(made)), 3, facts=FACTS)
    assert many.minimum_usable.tolist() == [0.75] * 3
    assert many.determinate.all()
    assert many.verdicts() == ["pass"] * 3


@pytest.mark.parametrize(
    ("text", "good"),
    [
        ("plain", True),
        ("a line\nand another\t", True),
        ("5 ° über 18 m → 友", True),
        ("", True),
        ("x" * 500, True),
        ("x" * 501, False),
        ("\ud83d", False),
        ("\x1b[31m", False),
        ("\x7f", False),
        (b"bytes", False),
        (None, False),
    ],
)
def test_text(text, good):
    assert is_text(text) is good


def test_what_cannot_even_be_looked_at_never_passes():
    local = plugin(says(Unhashable("Odd", (), {})()))
    outcome = evaluate(FITTING, ruleset(core(core_floor), local), facts=FACTS)
    assert outcome.unevaluated[0].reason == "The rule returned what cannot be read: TypeError."
    many = evaluate_many(FITTING, ruleset(core(core_floor), local), 3, facts=FACTS)
    assert many.verdicts() == ["indeterminate"] * 3


def test_a_rule_cannot_change_what_another_said():
    """Both write into one buffer; what the first said of it stands."""
    buffer, mask = np.zeros(3), np.zeros(3, dtype=bool)

    def short(case):
        buffer[:], mask[:] = 0.85, True
        return [rules.floor(buffer, "short"), rules.stop("stopped", when=mask)]

    def tall(case):
        buffer[:], mask[:] = 0.1, False
        return [rules.floor(buffer, "tall"), rules.note("n", when=mask)]

    local = plugin(
        rule(
            says(rules.floor(0.85, "short"), rules.stop("stopped")),
            "a-short",
            check_many=short,
        ),
        rule(says(rules.floor(0.1, "tall")), "b-tall", check_many=tall),
    )
    many = evaluate_many(FITTING, ruleset(local), 3, facts=FACTS)
    assert many.minimum_usable.tolist() == [0.85] * 3
    assert many.verdicts() == ["stop"] * 3
    assert many.determinate.all()
