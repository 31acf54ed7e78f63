"""What README and DEVELOPERS show is true."""

from __future__ import annotations

import json
import re
import types
from pathlib import Path

from drawmark.rules import registry, rulesets
from drawmark.web import create_app
from drawmark.web.installed import core_rules

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def blocks(text, language):
    return re.findall(rf"```{language}\n(.*?)```", text, re.DOTALL)


def test_one_call_and_its_answer():
    request, answer, _ = map(json.loads, blocks(README, "json"))
    client = create_app(rules=core_rules()).test_client()
    given = client.post("/v1/minimum-length", json=request).get_json()
    assert {name: given[name] for name in answer} == answer


def test_problem_is_what_the_service_says():
    *_, problem = map(json.loads, blocks(README, "json"))
    client = create_app(rules=core_rules()).test_client()
    body = {
        "archer": {
            "draw_length": {"value": 28, "unit": "in"},
            "draw_length_convention": "standard",
        },
        "bow": {"kind": "recurve"},
        "arrow": {"length": {"value": 29, "unit": "gr"}},
    }
    assert client.post("/v1/fit-check", json=body).get_json() == problem


def test_every_operation_of_the_table_exists():
    client = create_app(rules=core_rules()).test_client()
    paths = client.get("/openapi.json").get_json()["paths"]
    named = re.findall(r"`POST (/v1/[a-z/-]+)`", README)
    assert sorted(set(named)) == sorted(path for path in paths if "post" in paths[path])


def test_club_file_is_read(tmp_path):
    file = tmp_path / "club.toml"
    file.write_text(blocks(README, "toml")[0], encoding="utf-8")
    found = registry.load()
    configuration = rulesets.configure(found, file)
    assert configuration.default == "beginners"


def test_rule_of_fifteen_lines_asks_for_more():
    (source,) = blocks(DEVELOPERS, "python")
    assert len([line for line in source.splitlines() if line.strip()]) <= 15
    module = types.ModuleType("hall_margin")
    exec(source, module.__dict__)
    plugin = registry.register("hall-margin", "1.0", module)
    assert plugin.status == "active"
    assert [rule.id for rule in plugin.rules] == ["hall-margin"]
