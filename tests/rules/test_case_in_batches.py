"""A rule sees in a batch, and in assignments, what it sees in a single check: types too."""

from __future__ import annotations

import copy
import dataclasses
from typing import Any

import pytest

from builders.wire import q
from drawmark import rules
from drawmark.rules.registry import Registry
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.installed_rules import core_rules, installed_rules
from rules.bench import plugin

SIZE = 12


@dataclasses.dataclass(frozen=True)
class Inputs:
    """One field of each kind."""

    lane: int = rules.whole(1, 99, "Lane.")
    share: float = rules.number(0.0, 9.0, "Share.", default=1)
    target: str = rules.choice(("foam", "straw"), "Target.", default="foam")
    indoors: bool = rules.flag("Indoors.", default=True)
    word: str = rules.text(20, "Word.", default="")
    width: float | None = rules.length(0.0, 1.0, "Width.", default=None)


def leaves_of(tree: Any, path: str = "") -> dict[str, Any]:
    """Give each leaf of a case by its path."""
    names = getattr(tree, "__struct_fields__", None)
    if names is None and dataclasses.is_dataclass(tree):
        names = [field.name for field in dataclasses.fields(tree)]
    if names is not None:
        parts = {name: getattr(tree, name) for name in names}
    elif type(tree) is tuple:
        parts = dict(enumerate(tree))
    else:
        return {path: tree}
    return {
        name: leaf
        for key, part in parts.items()
        for name, leaf in leaves_of(part, f"{path}.{key}").items()
    }


class Spy:
    """Keeps the cases that it sees."""

    def __init__(self) -> None:
        self.seen: list[dict[str, Any]] = []

    def check(self, case: rules.Case) -> list[rules.Said]:
        self.seen.append(leaves_of(case))
        return []


@pytest.fixture
def spy():
    return Spy()


@pytest.fixture
def client(spy):
    made = plugin(rules.Rule(id="spy", title="t", check=spy.check, inputs=Inputs), name="spy")
    registry = Registry(plugins=(*core_rules().registry.plugins, made))
    return create_app(rules=installed_rules(registry=registry)).test_client()


DRAWS = {
    "one draw": {"draw_length": q(28, "in")},
    "a spread": {"draw_length": q(28, "in"), "draw_variation": q(5, "mm"), "draw_count": 12},
    "draws": {"draws": [q(27, "in"), q(28, "in"), q(28, "in")]},
}


def body(draws, **local):
    asked = copy.deepcopy(EXAMPLES["fit-check"])
    for name in ("draw_length", "draws", "draw_variation", "draw_count", "draw_control"):
        asked["archer"].pop(name, None)
    asked["archer"] |= DRAWS[draws]
    return {**asked, "local": {"spy": {"lane": 7, **local}}}


def typed(leaves):
    return {path: (type(leaf), leaf) for path, leaf in leaves.items()}


@pytest.mark.parametrize("draws", DRAWS)
@pytest.mark.parametrize("varied", [True, False])
def test_a_batch_shows_what_a_single_check_shows(client, spy, draws, varied):
    items = [
        body(
            draws, lane=1 + (at if varied else 0), share=at % 3 if varied else 2, width=q(at, "cm")
        )
        for at in range(SIZE)
    ]
    alone = []
    for item in items:
        spy.seen.clear()
        assert client.post("/v1/fit-check", json=item).status_code == 200
        alone.append(spy.seen[0])
    spy.seen.clear()
    response = client.post("/v1/fit-check/batch", json={"items": items})
    assert [item["status"] for item in response.get_json()["items"]] == [200] * SIZE
    together = spy.seen[:SIZE]
    assert [type(one[".inputs.lane"]) for one in together] == [int] * SIZE
    for one, other in zip(alone, together, strict=True):
        assert typed(one) == typed(other)


@pytest.mark.parametrize("draws", DRAWS)
def test_assignments_show_what_a_single_check_shows(client, spy, draws):
    archers = [{"id": str(at), **body(draws, lane=1 + at, width=q(at, "cm"))} for at in range(3)]
    arrows = [archer.pop("arrow") for archer in archers]
    for at, arrow in enumerate(arrows):
        arrow["length"] = q(29 + at, "in")
        archers[at].pop("archer_note", None)
    sets = [{"id": str(at), "arrow": arrow, "count": 6} for at, arrow in enumerate(arrows)]
    asked = {"archers": archers, "sets": sets, "arrows_per_archer": 3}
    response = client.post("/v1/kit/assignments", json=asked)
    assert response.status_code == 200, response.get_json()
    together = {(one[".inputs.lane"], one[".arrow.length"]): one for one in spy.seen[:9]}
    assert len(together) == 9
    for archer in archers:
        for arrow in arrows:
            spy.seen.clear()
            single = {name: archer[name] for name in ("archer", "bow", "local")}
            client.post("/v1/fit-check", json={**single, "arrow": arrow})
            alone = spy.seen[0]
            assert typed(together[alone[".inputs.lane"], alone[".arrow.length"]]) == typed(alone)


def test_a_figure_left_out_is_a_float_too(client, spy):
    items = [body("one draw", width=q(at, "cm")) for at in range(SIZE)]
    client.post("/v1/fit-check", json=items[0])
    assert type(spy.seen[0][".inputs.share"]) is float
