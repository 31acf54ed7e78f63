"""Every item of a batch gets, to the byte, what it would get alone: whatever it is mixed with."""

from __future__ import annotations

import copy
import dataclasses
import math
import random
import tomllib
from functools import cache

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchmarks.club import members
from benchmarks.full_bodies import TRAITS, Maker, check
from drawmark import rules
from drawmark.fitting.field_kinds import Part, Quantity
from drawmark.fitting.fields import specs_of
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules import registry
from drawmark.rules.club_file import rulesets_of
from drawmark.rules.configuration import Configuration, configure
from drawmark.rules.random_cases import random_fitting, random_instance
from drawmark.web.batch.definition import batch_item
from drawmark.web.batch.view import check_batch
from drawmark.web.wire.installed_rules import Rules, core_rules
from drawmark.web.wire.problems import ProblemError, problem
from rules.bench import plugin, rule

pytestmark = pytest.mark.usefixtures("patience")

CLUB = """
default = "evening"

[rulesets.evening]
title = "Evening"
plugins = ["clicker-clearance", "club-minimums"]
required = ["club-minimums"]

[rulesets.evening.settings.club-minimums]
minimum_length = "26 in"
margin_beyond_draw = "1.25 in"
greatest_draw_weight = "40 lbf"
least_arrow_mass = "250 gr"
least_grains_per_pound = 6.5

[rulesets.required]
title = "A rule of the core is required"
required = ["core/maximum-draw"]

[rulesets.strict]
title = "A plugin is missing"
plugins = ["not-here", "clicker-clearance"]
required = ["not-here"]
"""


@dataclasses.dataclass(frozen=True)
class Wish:
    margin: float = rules.length(0.0, 0.1, "A margin.", default=0.01)
    weight: float | None = rules.force(10.0, 900.0, "A weight.", default=None)
    times: float = rules.number(0.0, 3.0, "A factor.", default=1.0)
    rounds: int = rules.whole(0, 5, "A count, an int for whoever looks at one case.", default=1)
    colour: str = rules.choice(("red", "blue"), "A colour.", default="red")


@dataclasses.dataclass(frozen=True)
class Checked:
    margin: float = rules.length(0.0, 0.1, "A margin.", default=0.01)

    def __post_init__(self):
        assert isinstance(self.margin, float), "was made of a column"


def floor_and_ceiling(case):
    """With signs that a template could trip over."""
    draw, wish = case.facts.draw, case.inputs
    yield rules.floor(
        draw + wish.margin * wish.times, '100 % {"value":%b} \\ \u00e9', id="%d", when=draw > 0.6
    )
    yield rules.ceiling(draw + 0.2, "c", when=draw > 0.7)
    yield rules.caution("%s", measured=rules.Measure(draw * 1e9, "number"), when=draw > 0.65)
    yield rules.caution(
        "spine", limit=rules.Measure(draw * 8, "static_spine", down=True), when=draw > 0.72
    )


def one_by_one(case):
    rounds = [rules.note(f"round {place}") for place in range(case.inputs.rounds)]
    return [*rounds, *(one for one in floor_and_ceiling(case) if one.when)]


def columns_only_fail(case):
    raise RuntimeError("no columns")


def wrong_columns(case):
    return [rules.floor(np.array([1.0, 2.0]), "of the wrong length")]


def no_number_in_columns(case):
    return [rules.floor(case.facts.draw * np.nan, "nothing")]


def moody(case):
    """Raises, talks nonsense or is silent, by what it sees."""
    draw = case.facts.draw
    if isinstance(draw, np.ndarray):
        raise TypeError("of one thing at a time")
    mood = int(draw * 1e4) % 5
    if mood == 0:
        raise ValueError(f"at {draw:.3f}")
    if mood == 1:
        return [rules.floor(math.nan, "nothing")]
    if mood == 2:
        return [rules.stop("no"), "nonsense"]
    return [rules.indeterminate("hm"), rules.note("n")] if mood == 3 else []


def too_heavy(case):
    weight = case.inputs.weight
    yield rules.stop("heavy", when=case.facts.draw_weight > weight, fields=("bow.draw_weight",))


def right_handed(case):
    if case.archer.string_hand == "left":
        return [rules.caution("The hall's rack is for right-handed archers.")]
    return []


def watched(case):
    """Looks at one field or at none, by what another says."""
    if case.archer.coach_checked and case.archer.release == "aid":
        most = case.bow.maximum_draw
        yield rules.indeterminate("no limit", when=most is None)
        yield rules.stop("beyond it", when=False if most is None else case.facts.draw > most)


ZOO = [
    plugin(
        rule(floor_and_ceiling, "a-both", inputs=Wish, check_many=floor_and_ceiling),
        rule(one_by_one, "b-single", inputs=Wish),
        rule(
            too_heavy,
            "c-heavy",
            inputs=Wish,
            check_many=too_heavy,
            needs=("local.weight", "facts.draw_weight"),
        ),
        name="wishes",
    ),
    plugin(rule(lambda case: (), "a-silent", inputs=Checked), name="looked-at"),
    plugin(
        rule(lambda case: [rules.floor(0.5, "f")], "a-raises", check_many=columns_only_fail),
        rule(lambda case: [rules.floor(0.6, "f")], "b-wrong", check_many=wrong_columns),
        rule(lambda case: [rules.ceiling(0.9, "c")], "c-none", check_many=no_number_in_columns),
        rule(moody, "d-moody"),
        rule(moody, "e-moody", check_many=moody, gives=frozenset({"finding"})),
        rule(lambda case: (), "f-lacks", needs=("arrow.wrap",), required=True),
        name="trouble",
    ),
    plugin(
        rule(right_handed, "a-hand", check_many=right_handed, needs=("archer.string_hand",)),
        rule(watched, "b-watched", check_many=watched),
        name="lookers",
    ),
]


CORE = core_rules().registry.plugins
WORLDS = {
    "core": registry.Registry(plugins=CORE),
    "wishes": registry.Registry(plugins=(*CORE, *ZOO[:2])),
    "trouble": registry.Registry(plugins=(*CORE, ZOO[2])),
    "lookers": registry.Registry(plugins=(*CORE, ZOO[3])),
    "all": registry.Registry(plugins=(*CORE, *ZOO)),
}
INSTALLED = registry.load()
if {"clicker-clearance", "club-minimums"} <= {one.name for one in INSTALLED.active}:
    WORLDS["club"] = INSTALLED


@cache
def item_of(world):
    """The fit check of a batch's item in a service with other rules in force."""
    found = WORLDS[world]
    configuration = configure(found)
    if world == "club":
        named, default = rulesets_of(tomllib.loads(CLUB), found)
        configuration = Configuration(rulesets=named, default=default)
    return batch_item(Rules(registry=found, configuration=configuration))


def wire(instance, rng):
    """What a caller would write, in any units."""
    body = {}
    for name, spec in specs_of(type(instance)).items():
        value = getattr(instance, name)
        if value is None:
            continue
        several = value if isinstance(value, tuple) else (value,)
        if isinstance(spec, Quantity):
            several = [_quantity(one, spec.dimension, rng) for one in several]
        elif isinstance(spec, Part):
            several = [wire(one, rng) for one in several]
        body[name] = list(several) if isinstance(value, tuple) else several[0]
    return body


def _quantity(value, dimension, rng):
    units = DIMENSIONS[dimension]
    unit = units[0] if rng.random() < 0.5 else rng.choice(units)
    return {"value": float(f"{unit.from_si(value):.6g}"), "unit": unit.symbol}


MAY_DIFFER = {
    ("archer", "coach_checked"): (True, False),
    ("archer", "release"): ("fingers", "aid"),
    ("archer", "string_hand"): ("right", "left"),
    ("bow", "maximum_draw"): [{"value": inches, "unit": "in"} for inches in (27, 28.5, 31)],
}


def varied(body, rng):
    """The same shape with other figures, some of them impossible."""
    body = copy.deepcopy(body)

    def vary(node):
        for name, value in node.items() if isinstance(node, dict) else enumerate(node):
            if isinstance(value, dict | list):
                vary(value)
            elif name == "draw_count":
                node[name] = rng.choice((4, 6, 11, 12, 30))
            elif name == "value":
                node[name] = float(f"{value * rng.uniform(0.93, 1.07):.6g}")

    vary(body)
    for (part, name), choices in MAY_DIFFER.items():
        body[part].pop(name, None)
        if rng.random() < 0.7:
            body[part][name] = rng.choice(choices)
    return body


def random_item(rng, item):
    kind = rng.random()
    if kind < 0.5:
        (body,) = members(1, rng.randrange(2**32), spare=True)
    elif kind < 0.75:
        traits = {trait: rng.choice(choices) for trait, choices in TRAITS.items()}
        body = check(Maker(traits, rng.randrange(2**32), rng.randint(2, 9)), rng.randrange(2**11))
        body.pop("local", None)
    else:
        fitting = random_fitting(rng)
        body = {name: wire(getattr(fitting, name), rng) for name in ("archer", "bow", "arrow")}
    if rng.random() < 0.3:
        body["saw_increment"] = _quantity(rng.choice((0.001, 0.00635)), "length", rng)
    if rng.random() < 0.3:
        body["report_in"] = {
            name: rng.choice(units).symbol
            for name, units in DIMENSIONS.items()
            if name != "frequency" and rng.random() < 0.5
        }
    if rng.random() < 0.1:
        body["detail"] = "full"
    if rng.random() < 0.3:
        body["ruleset"] = rng.choice((*item.rules.configuration.rulesets, "no such thing"))
    if rng.random() < 0.5:
        body["local"] = {
            name: wire(random_instance(cls, rng), rng)
            for name, cls in item.rules.inputs.items()
            if rng.random() < 0.7
        }
    return body


NONSENSE = (
    {},
    [],
    None,
    {"archer": {"draw_length": 28}},
    {"archer": {}, "bow": {"kind": "recurve"}, "arrow": {}, "id": ""},
    {"archer": {}, "bow": {"kind": "recurve"}, "arrow": {}, "id": 5, "more": True},
)


def alone(place, body, item):
    """What a single check says, as an entry of a batch."""
    entry = {"index": place}
    if isinstance(body, dict) and isinstance(body.get("id"), str) and body["id"]:
        entry["id"] = body["id"]
    try:
        return {**entry, "status": 200, "result": item.calculate(msgspec.json.encode(body))}
    except ProblemError as error:
        return {**entry, "status": error.status, "problem": error.document()}
    except Exception:
        worded = problem(500, "The service failed on this item.")
        return {**entry, "status": 500, "problem": worded}


def mixed(rng, item):
    bodies = []
    for _ in range(rng.randint(1, 3)):
        body = random_item(rng, item)
        bodies += [varied(body, rng) for _ in range(rng.choice((1, 12, 25)))]
    bodies += rng.choices(NONSENSE, k=rng.randint(0, 3))
    rng.shuffle(bodies)
    for body in bodies:
        if isinstance(body, dict) and body.get("archer"):
            body["id"] = rng.choice(("lane 3", "%d \u00e9", "x" * 100, ""))
    return bodies


@pytest.mark.parametrize("world", WORLDS)
@settings(max_examples=40)
@given(seed=st.integers(0, 2**32))
def test_a_mixed_batch_says_what_single_checks_say(world, seed):
    item = item_of(world)
    bodies = mixed(random.Random(seed), item)
    answer = check_batch(msgspec.json.encode({"items": bodies}), item)
    entries = [msgspec.json.encode(alone(place, body, item)) for place, body in enumerate(bodies)]
    assert answer.startswith(b'{"items":[' + b",".join(entries) + b'],"not_told":[')
    for entry in map(msgspec.json.decode, entries):
        assert is_told_why(entry.get("result", {}))


def is_told_why(result):
    """An answer in doubt, of the verdict or of the minimum, names what leaves it so."""
    doubts = {one["severity"] for one in result.get("findings", ())} & {"indeterminate"}
    verdict = result.get("verdict") != "indeterminate" or doubts or result["unevaluated"]
    return verdict and (result.get("status") != "indeterminate" or result["unevaluated"])
