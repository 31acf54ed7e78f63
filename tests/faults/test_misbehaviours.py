"""What a caller and all others see of each misbehaviour: alone, in a batch, and in assignments.

What ends the worker has a service of its own in `test_plugins.py`.
"""

from __future__ import annotations

import copy
import dataclasses
import re
from collections.abc import Callable
from typing import Any, Final

import numpy as np
import pytest

from builders.wire import q
from drawmark import rules
from drawmark.rules.guard import guard
from drawmark.rules.registry import Registry
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules, installed_rules
from faults import misbehaving
from rules.bench import plugin, rule, says

ITEMS: Final = 9
GOOD = None
"""Nothing is said against it, and the verdict is that of the core."""
LATE: Final = "ran longer than 250 ms|is not asked again: it was too slow 3 times in this request"
ODD: Final = "contradicts itself: of an item of this batch its check_many says something else"
BUFFER: Final = np.zeros(10_000)


@dataclasses.dataclass(frozen=True)
class Misbehaviour:
    """A rule, and why it has no answer: asked about one fitting, a batch and assignments."""

    check: Callable[[Any], Any]
    alone: str | None
    batch: str | None
    check_many: Callable[[Any], Any] | None = None

    @property
    def is_late(self) -> bool:
        return self.alone == LATE


def same(check: Callable[[Any], Any], reason: str | None) -> Misbehaviour:
    """Answer alike wherever it is asked."""
    return Misbehaviour(check, reason, reason)


def columns(check_many: Callable[[Any], Any], reason: str | None) -> Misbehaviour:
    """Answer well alone, and misbehave in columns."""
    return Misbehaviour(says(), None, reason, check_many)


def raises_on_columns(case: Any) -> Any:
    raise KeyError("columns")


def scribbles(case: Any) -> Any:
    case.arrow.length[:] = 2.0
    return []


def looks_up_words(case: Any) -> Any:
    """Look up a whole number by the text that it has alone; a column has another."""
    return [rules.note("a lane of ours")] if str(case.inputs.lane) in ("7", "8") else []


def masked(case: Any) -> Any:
    size = len(case.arrow.length)
    return [rules.floor(np.ma.array(np.full(size, 0.2), mask=True), "masked")]


def reuses_its_buffer(case: Any) -> Any:
    BUFFER[:] = 0.2
    return [rules.floor(BUFFER[: len(case.arrow.length)], "buffer")]


def raises_sometimes(case: Any) -> Any:
    if case.arrow.length > 0.5:
        raise ValueError("too long for me")
    return []


class UnreadableError(Exception):
    """Has no words."""

    def __str__(self) -> str:
        raise RuntimeError


def raises_without_words(case: Any) -> Any:
    raise UnreadableError


TABLE: Final = {
    "raises": same(misbehaving.raises, "raised KeyError: 'lost'"),
    "raises-sometimes": same(raises_sometimes, "raised ValueError: too long for me"),
    "raises-without-words": same(raises_without_words, "raised UnreadableError"),
    "loops": same(misbehaving.loops, LATE),
    "loops-in-a-generator": same(misbehaving.loops_in_a_generator, LATE),
    "says-without-end": same(misbehaving.says_without_end, "said more than 50 things"),
    "recurses": same(misbehaving.recurses, "raised RecursionError"),
    "exits": same(misbehaving.exits, "raised SystemExit: 3"),
    "interrupts": same(misbehaving.interrupts, "raised KeyboardInterrupt"),
    "returns-nothing": same(misbehaving.returns_nothing, "returned None; yield"),
    "returns-text": same(misbehaving.returns_text, "returned str, not a floor"),
    "returns-the-class": same(misbehaving.returns_the_class, "returned StructMeta, not a floor"),
    "returns-a-promise": same(misbehaving.returns_a_promise, "returned coroutine; yield"),
    "sets-a-floor-of-nan": same(misbehaving.sets_a_floor_of_nan, "gave a length that is not fin"),
    "sets-millimetres": same(misbehaving.sets_a_floor_in_millimetres, "gave a length beyond 3 m"),
    "sets-words": same(misbehaving.sets_a_floor_in_words, "gave str as a length"),
    "speaks-in-surrogates": same(misbehaving.speaks_in_surrogates, "gave a message that is not"),
    "speaks-for-hours": same(misbehaving.speaks_for_hours, "gave a message that is not plain"),
    "passes-what-is-unsafe": same(misbehaving.passes_what_is_unsafe, "gave an unknown severity"),
    "changes-the-arrow": same(misbehaving.changes_the_arrow, "raised FrozenInstanceError"),
    "changes-the-facts": same(misbehaving.changes_the_facts, "raised AttributeError: immutable"),
    "prints": same(misbehaving.prints, GOOD),
    "remembers-everything": same(misbehaving.remembers_everything, GOOD),
    # Where columns cannot be used the rule is asked about each item.
    "raises-on-columns": columns(raises_on_columns, GOOD),
    "scribbles-on-columns": columns(scribbles, GOOD),
    "masks-its-columns": columns(masked, GOOD),
    "objects-in-columns": columns(
        lambda case: [rules.floor(np.full(len(case.arrow.length), 0.2, dtype=object), "f")], GOOD
    ),
    # Columns that say something else are nobody's answer.
    "says-nothing-in-columns": Misbehaviour(says(rules.note("n")), GOOD, ODD, says()),
    "stops-in-columns": columns(says(rules.stop("never")), ODD),
    "looks-up-words": Misbehaviour(looks_up_words, GOOD, ODD, looks_up_words),
    "raises-alone": Misbehaviour(misbehaving.raises, "raised KeyError: 'lost'", ODD, says()),
    "loops-in-columns": columns(misbehaving.loops, None),
    "reuses-its-buffer": Misbehaviour(
        says(rules.floor(0.2, "buffer")), GOOD, GOOD, reuses_its_buffer
    ),
}
NAMES: Final = {name: name.replace("-", "_") for name in TABLE}
Inputs: Final = dataclasses.make_dataclass(
    "Inputs",
    [
        ("lane", int, rules.whole(1, 9, "Lane.", default=1)),
        *((NAMES[name], bool | None, rules.flag("It does.", default=None)) for name in TABLE),
    ],
    frozen=True,
    kw_only=True,
)


@pytest.fixture(autouse=True)
def forgotten():
    guard.forget()
    yield
    guard.forget()


@pytest.fixture(scope="module")
def client():
    made = [
        rule(
            one.check,
            name,
            check_many=one.check_many,
            inputs=Inputs,
            needs=(f"local.{NAMES[name]}",),
        )
        for name, one in TABLE.items()
    ]
    registry = Registry(
        plugins=(
            *core_rules().registry.plugins,
            plugin(*made, name="misbehaving"),
            plugin(says(rules.note("The others speak.")), name="others"),
        )
    )
    # On a busy machine three calls that are stopped take longer than a single request may.
    settings = Settings(single_deadline=30, deadline=30)
    return create_app(settings, installed_rules(registry=registry)).test_client()


def doing(name: str, at: int = 0) -> dict[str, Any]:
    body = copy.deepcopy(EXAMPLES["fit-check"])
    body["arrow"]["length"] = q(30 + at / 8, "in")
    return {
        **body,
        "local": {"misbehaving": {NAMES[name]: True, "lane": 7 + at % 2}},
        "detail": "verdict",
    }


def ask(client: Any, path: str, body: Any) -> Any:
    response = client.post(f"/v1/{path}", json=body)
    assert response.status_code == 200, response.get_json()
    return response.get_json()


def judged(answer: Any, name: str, reason: str | None) -> None:
    """Hold an answer to what its caller is to see."""
    told = [one["reason"] for one in answer["unevaluated"]]
    if reason is GOOD:
        assert told == []
        assert answer["verdict"] == "pass"
    else:
        assert [bool(re.match(f"The rule ({reason})", one)) for one in told] == [True], told
        assert answer["unevaluated"][0]["rule"] == name
        assert answer["verdict"] == answer["status"] == "indeterminate"
        assert "minimum" not in answer


@pytest.mark.parametrize("name", TABLE)
def test_alone(client, name):
    judged(ask(client, "fit-check", doing(name)), name, TABLE[name].alone)


@pytest.mark.parametrize("name", TABLE)
def test_in_a_batch_beside_others(client, name):
    other = {**doing(name), "local": {}}
    before = ask(client, "fit-check/batch", {"items": [other] * ITEMS})
    mixed = [body for at in range(ITEMS) for body in (doing(name, at), other)]
    items = ask(client, "fit-check/batch", {"items": mixed})["items"]
    for item in items[::2]:
        judged(item["result"], name, TABLE[name].batch)
    assert [one["result"] for one in items[1::2]] == [one["result"] for one in before["items"]]


@pytest.mark.parametrize("name", TABLE)
def test_in_assignments(client, name):
    reason = TABLE[name].batch
    single = doing(name)
    archers = [
        {
            "id": f"a{at}",
            "archer": single["archer"],
            "bow": single["bow"],
            "local": doing(name, at)["local"],
        }
        for at in range(2)
    ]
    sets = [{"id": f"s{at}", "arrow": doing(name, at)["arrow"], "count": 6} for at in range(3)]
    answer = ask(
        client,
        "kit/assignments",
        {"archers": archers, "sets": sets, "arrows_per_archer": 6},
    )
    told = [one["reason"] for one in answer["unevaluated"]]
    if reason is GOOD:
        assert told == []
        assert [one["verdict"] for one in answer["assignments"]] == ["pass"] * 2
    else:
        assert [bool(re.match(f"The rule ({reason})", one)) for one in told] == [True], told
        assert answer["assignments"] == []
        assert {one["reason"] for one in answer["unequipped"]} == {"in_doubt"}


@pytest.mark.parametrize("name", TABLE)
def test_others_get_the_same_answer_before_and_after(client, name):
    others = {**doing(name), "local": {}, "detail": "full"}
    before = client.post("/v1/fit-check", json=others).data
    ask(client, "fit-check", doing(name))
    assert client.post("/v1/fit-check", json=others).data == before
    assert b"The others speak." in before
