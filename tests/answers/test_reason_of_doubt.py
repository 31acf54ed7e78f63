"""Whatever leaves a verdict in doubt is named, however little the answer tells."""

from __future__ import annotations

from functools import partial

import pytest

from builders.wire import archer, q
from drawmark import rules
from drawmark.rules.club_file import rulesets_of
from drawmark.rules.configuration import Configuration
from drawmark.rules.registry import Registry
from drawmark.web import create_app
from drawmark.web.wire.installed_rules import Rules, core_rules
from rules.bench import plugin, rule

BOW = {"kind": "recurve"}
LONG = {"length": q(31)}


def broken(case):
    raise ValueError("no idea")


def service(made, required=(), plugins=("hall",)):
    """A service with a rule of a hall, which may be required."""
    registry = Registry(plugins=(*core_rules().registry.plugins, plugin(made, name="hall")))
    evening = {"title": "Evening", "plugins": list(plugins), "required": list(required)}
    named, default = rulesets_of({"default": "evening", "rulesets": {"evening": evening}}, registry)
    configuration = Configuration(rulesets=named, default=default)
    return create_app(rules=Rules(registry=registry, configuration=configuration)).test_client()


def silent(case):
    return ()


def single(client, body, detail):
    return client.post("/v1/fit-check", json={**body, "detail": detail}).get_json()


def in_batch(client, body, size):
    items = [body] * size
    answer = client.post("/v1/fit-check/batch", json={"items": items}).get_json()
    return answer["items"][-1]["result"]


TOLD = {
    "in full": lambda client, body: single(client, body, "full"),
    "the verdict alone": lambda client, body: single(client, body, "verdict"),
    "alone in a batch": lambda client, body: in_batch(client, body, 1),
    "in columns": lambda client, body: in_batch(client, body, 12),
}
WAYS = {
    # "I asked for the mass of every arrow tonight. Weigh it."
    "a required rule lacks a field": (
        partial(service, rule(broken, "mass", needs=("arrow.mass",)), required=["hall/mass"]),
        {"archer": archer(28), "bow": BOW, "arrow": LONG},
        ("hall", "mass", "arrow.mass"),
    ),
    # "Either figure will do."
    "a required rule lacks one of two fields": (
        partial(
            service, rule(broken, "mass", needs=("arrow.mass|arrow.shaft",)), required=["hall/mass"]
        ),
        {"archer": archer(28), "bow": BOW, "arrow": LONG},
        ("hall", "mass", "arrow.mass or arrow.shaft"),
    ),
    # "Our hall's rules are not loaded, so I cannot say yes."
    "a required plugin is absent": (
        partial(service, rule(silent), required=["hut"], plugins=["hall", "hut"]),
        {"archer": archer(28), "bow": BOW, "arrow": LONG},
        ("hut", "", "not active"),
    ),
    # "The rule broke. Tell whoever wrote it."
    "a rule fails": (
        partial(service, rule(broken, "mood")),
        {"archer": archer(28), "bow": BOW, "arrow": LONG},
        ("hall", "mood", "no idea"),
    ),
    # "You say that a clicker ends the draw. Show me: where is its blade?"
    "a claimed clicker is not shown": (
        partial(service, rule(silent)),
        {
            "archer": archer(28, draw_control="clicker"),
            "bow": BOW,
            "arrow": {"length": q(28.95)},
        },
        ("core", "minimum-length", "bow.clicker_range"),
    ),
    # "It is strong enough today. After an inch of growth it may not be."
    "the draw weight grows with the draw": (
        partial(service, rule(silent)),
        {
            "archer": archer(26, growth_allowance=q(2)),
            "bow": {**BOW, "draw_weight": q(40, "lbf"), "draw_weight_basis": "own_draw"},
            "arrow": {"length": q(31), "mass": q(210, "gr")},
        },
        ("core", "grown-draw-weight", "archer.growth_allowance"),
    ),
    # "The hall says so itself."
    "a local rule doubts": (
        partial(service, rule(lambda case: [rules.indeterminate("who knows")], "doubt")),
        {"archer": archer(28), "bow": BOW, "arrow": LONG},
        ("hall", "doubt", "who knows"),
    ),
}


def reasons_of(answer):
    """Who doubts, and all the words that say why."""
    for one in answer["unevaluated"]:
        yield one["plugin"], one["rule"], one["reason"]
    for one in answer["findings"]:
        if one["severity"] == "indeterminate":
            words = " ".join([one["message"], *one.get("fields", [])])
            yield one["plugin"], one["rule"], words


@pytest.mark.parametrize("told", TOLD.values(), ids=TOLD)
@pytest.mark.parametrize(("start", "body", "reason"), WAYS.values(), ids=WAYS)
def test_an_indeterminate_verdict_names_its_reason(start, body, reason, told):
    answer = told(start(), body)
    assert answer["verdict"] == "indeterminate"
    who, which, words = reason
    assert any(
        (who, which) == (plugin, rule) and words in said
        for plugin, rule, said in reasons_of(answer)
    )
