"""Plugins that return anything at all, on the wire: stricter only, and in any order the same."""

import json
import os
import subprocess
import sys
from itertools import islice, permutations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from builders.wire import q
from drawmark.fitting.facts import facts_of
from drawmark.fitting.floors import minimum_of
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.fitting.units import INCH
from drawmark.rules.configuration import Configuration, everything
from drawmark.rules.model import PRECEDENCE
from drawmark.rules.registry import Registry, load
from drawmark.web import create_app
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import Rules
from rules.zoo import zoos
from servers import install

pytestmark = pytest.mark.usefixtures("patience")

CORE = load().find("core")
PATHS = ("minimum-length", "recommended-length", "longest-draw", "fit-check")


def client_of(*plugins):
    found = Registry(plugins=plugins)
    ruleset = everything(found)
    configuration = Configuration(rulesets={ruleset.name: ruleset}, default=ruleset.name)
    rules = Rules(registry=found, configuration=configuration)
    # On a busy machine an answer may take long by the clock.
    chosen = Settings(log_requests=False, deadline=60, single_deadline=60)
    return create_app(chosen, rules).test_client()


ALONE = client_of(CORE)


@st.composite
def bodies(draw):
    """Requests whose figures are whole sixteenths, so that nothing but rules moves a verdict."""
    archer = {
        "draw_length": q(draw(st.integers(22 * 16, 31 * 16)) / 16),
        "draw_length_convention": draw(st.sampled_from(["standard", "to_pivot"])),
    }
    if draw(st.booleans()):
        archer["growth_allowance"] = q(draw(st.integers(0, 32)) / 16)
    if draw(st.booleans()):
        archer.update(draw_variation=q(0.25), draw_count=12, draw_control="settled")
    bow = {"kind": draw(st.sampled_from(["recurve", "barebow", "longbow"]))}
    if draw(st.booleans()):
        bow.update(draw_weight=q(draw(st.integers(14, 50)), "lbf"), draw_weight_basis="at_28")
    arrow = {"length": q(draw(st.integers(23 * 16, 34 * 16)) / 16)}
    if draw(st.booleans()):
        arrow["mass"] = q(draw(st.integers(150, 500)), "gr")
    return {"archer": archer, "bow": bow, "arrow": arrow}


def post(client, path, body):
    response = client.post(f"/v1/{path}", json=body)
    assert response.status_code == 200, response.text
    return response.data


def minimum_in(answer):
    return answer.get("minimum", answer.get("minimum_at_least"))["value"]


def gentle(examples):
    return settings(max_examples=examples, suppress_health_check=[HealthCheck.too_slow])


@gentle(30)
@given(bodies(), zoos)
def test_answers_become_stricter_and_never_less(body, zoo):
    joined = client_of(CORE, *zoo)
    alone, together = (json.loads(post(client, "fit-check", body)) for client in (ALONE, joined))
    assert PRECEDENCE[together["verdict"]] >= PRECEDENCE[alone["verdict"]]
    assert minimum_in(together) >= minimum_in(alone)
    if together["unevaluated"]:
        assert together["verdict"] in ("indeterminate", "stop")
    for name in ("longest_safe_draw", "longest_safe_draw_at_most"):
        if name in together:
            assert together[name]["value"] <= alone["longest_safe_draw"]["value"]


@gentle(20)
@given(st.lists(bodies(), min_size=1, max_size=4), zoos)
def test_a_batch_says_of_each_what_it_says_of_one(items, zoo):
    joined = client_of(CORE, *zoo)
    batch = json.loads(post(joined, "fit-check/batch", {"items": items}))["items"]
    assert [one["status"] for one in batch] == [200] * len(items)
    for body, one in zip(items, batch, strict=True):
        alone = json.loads(post(ALONE, "fit-check", body))
        single = json.loads(post(joined, "fit-check", {**body, "detail": "verdict"}))
        assert one["result"] == single
        assert PRECEDENCE[single["verdict"]] >= PRECEDENCE[alone["verdict"]]
        assert minimum_in(single) >= minimum_in(alone)


@gentle(15)
@given(bodies(), zoos)
def test_order_of_installation_changes_no_byte(body, zoo):
    said = set()
    for order in islice(permutations([CORE, *zoo]), 0, None, 5):
        client = client_of(*order)
        answers = [post(client, path, wanted(path, body)) for path in PATHS]
        batch = {"items": [body, {**body, "detail": "full"}]}
        said.add((*answers, post(client, "fit-check/batch", batch)))
    assert len(said) == 1


def wanted(path, body):
    if path == "longest-draw":
        archer = {"draw_length_convention": body["archer"]["draw_length_convention"]}
        return {**body, "archer": archer}
    return body


@pytest.mark.parametrize("draw", [24, 26.25, 29])
@pytest.mark.parametrize("growth", [0, 1])
def test_without_plugins_it_is_what_the_fitting_alone_computes(draw, growth):
    body = {
        "archer": {
            "draw_length": q(draw),
            "draw_length_convention": "to_pivot",
            "growth_allowance": q(growth),
        },
        "bow": {"kind": "recurve"},
    }
    archer = Archer(
        draw_length=draw * INCH, draw_length_convention="to_pivot", growth_allowance=growth * INCH
    )
    fitting = Fitting(archer=archer, bow=Bow(kind="recurve"), arrow=Arrow())
    answer = json.loads(post(ALONE, "minimum-length", body))
    assert answer["minimum"] == q(round(minimum_of(facts_of(fitting)) / INCH, 3))
    # By hand: the draw, 1 3/4 in to the back of the bow, 1 in past it, and growth.
    assert answer["minimum"] == q(draw + 1.75 + 1 + growth)


HALL = """
from drawmark import rules

def check(case):
    yield rules.floor(case.facts.draw + rules.inches({inches}), "a margin of {inches} in")
    yield rules.note("what {name} notes")

@rules.hookimpl
def drawmark_rules():
    return [
        rules.Rule(id=name, title="One of {name}.", check=check) for name in ("west", "east")
    ]
"""
ASK = """
import sys
from drawmark.web import create_app
client = create_app().test_client()
for path in ("fit-check", "fit-check/batch"):
    body = sys.argv[1] if path == "fit-check" else '{"items": [' + sys.argv[1] + "]}"
    reply = client.post("/v1/" + path, data=body, content_type="application/json")
    sys.stdout.buffer.write(reply.data)
for path in ("rules", "plugins", "rulesets"):
    sys.stdout.buffer.write(client.get("/v1/" + path).data)
sys.stdout.buffer.write(client.get("/openapi.json").data)
"""


@pytest.mark.long
def test_order_of_distributions_on_the_path_changes_no_byte(tmp_path):
    """Installed for real, by metadata, in every order that the path may have."""
    folders = []
    for name, inches in (("ants", 3), ("bees", 4), ("cows", 3)):
        folder = tmp_path / name
        folder.mkdir()
        install(folder, name, HALL.format(name=name, inches=inches))
        folders.append(str(folder))
    body = json.dumps(
        {
            "archer": {"draw_length": q(28), "draw_length_convention": "standard"},
            "bow": {"kind": "recurve"},
            "arrow": {"length": q(30)},
        }
    )
    said = set()
    for order in (folders, folders[::-1], folders[1:] + folders[:1]):
        path = os.pathsep.join([*order, os.environ.get("PYTHONPATH", "")]).rstrip(os.pathsep)
        done = subprocess.run(
            [sys.executable, "-c", ASK, body],
            env={**os.environ, "PYTHONPATH": path},
            capture_output=True,
            timeout=60,
            check=True,
        )
        said.add(done.stdout)
    (only,) = said
    # 26.25 in to the pivot point (AMO FP-3's worked example) and 4 in.
    assert b'"minimum":{"value":30.25,"unit":"in"}' in only
    assert only.count(b"what bees notes") >= 2
