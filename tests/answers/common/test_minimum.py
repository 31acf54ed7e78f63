"""What an answer tells of a floor, whatever the plugin that set it tells of that."""

from __future__ import annotations

import pytest

from builders.wire import archer, q
from drawmark import rules
from drawmark.rules.configuration import configure
from drawmark.rules.registry import Registry
from drawmark.web import create_app
from drawmark.web.wire.installed_rules import Rules, core_rules
from rules.bench import plugin, says

REASON = "our hall asks for 31 in"
ALONE = {"term": REASON, "value": q(31.0)}
SOURCED = {**ALONE, "source": "house rules of an invented hall"}
COLLAR = {"term": "collar that slides back", "value": q(0.25), "source": "request"}


def ask(said, path, body):
    registry = Registry(plugins=(*core_rules().registry.plugins, plugin(says(said), name="hall")))
    configuration = configure(registry)
    client = create_app(rules=Rules(registry=registry, configuration=configuration)).test_client()
    reply = client.post(f"/v1/{path}", json=body)
    assert reply.status_code == 200, reply.data
    return reply.get_json()


@pytest.mark.parametrize("path", ["minimum-length", "recommended-length", "fit-check"])
@pytest.mark.parametrize(
    ("more", "point", "terms"),
    [
        pytest.param({}, {}, [ALONE], id="reason and length"),
        pytest.param({"source": SOURCED["source"]}, {}, [SOURCED], id="with a source"),
        pytest.param({}, {"sleeve_length": q(0.25)}, [ALONE, COLLAR], id="with a collar"),
        pytest.param(
            {"terms": (rules.Term("club", rules.inches(31)),)},
            {},
            [{"term": "club", "value": q(31.0)}],
            id="terms of its own",
        ),
    ],
)
def test_a_floor_without_terms_is_its_own_term(path, more, point, terms):
    floor = rules.floor(rules.inches(31), REASON, **more)
    arrow = {"length": q(32), **({"point": point} if point else {})}
    body = {"archer": archer(), "bow": {"kind": "recurve"}, "arrow": arrow}
    assert ask(floor, path, body)["derivation"] == terms
