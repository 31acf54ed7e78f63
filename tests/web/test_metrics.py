"""What is counted: each request once, each verdict, each call of a plugin's rule."""

from __future__ import annotations

import copy
import os
import signal

import pytest
import requests
from prometheus_client.parser import text_string_to_metric_families

from builders.wire import q
from drawmark import rules
from drawmark.rules.configuration import configure
from drawmark.rules.guard import Guard
from drawmark.rules.registry import Registry
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.metrics import METHODS, Metrics
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import Rules, core_rules
from rules.bench import plugin, rule
from servers import wait_for
from web.serving import HeldRequest, hang_up, serving

REQUESTS = "drawmark_requests_total"
VERDICTS = "drawmark_verdicts_total"
DURATIONS = "drawmark_request_duration_seconds_count"
CALLS = "drawmark_rule_calls_total"
TIME = "drawmark_rule_seconds_total"
FAILURES = "drawmark_rule_failures_total"
OFF = "drawmark_rules_off"
LOST = "drawmark_workers_lost_total"


def samples(text):
    """Read the text as Prometheus does: values by name and labels."""
    return {
        (one.name, frozenset(one.labels.items())): one.value
        for family in text_string_to_metric_families(text)
        for one in family.samples
    }


class Counts:
    """What was counted since; counters of a process go on from test to test."""

    def __init__(self, client):
        self.client = client
        self.before = self.read()

    def read(self):
        response = self.client.get("/metrics")
        assert response.status_code == 200
        return samples(response.text)

    def since(self):
        now = self.read()
        grown = {key: value - self.before.get(key, 0) for key, value in now.items()}
        return {key: value for key, value in grown.items() if value}


def key(name, **labels):
    return name, frozenset(labels.items())


def test_a_request_is_counted_by_route_method_and_status(client):
    counts = Counts(client)
    for _ in range(3):
        client.post("/v1/spine", json=EXAMPLES["spine"])
    client.post("/v1/spine", json={})
    client.get("/v1/spine?length=secret")
    grown = counts.since()
    assert grown[key(REQUESTS, route="/v1/spine", method="POST", status="200")] == 3
    assert grown[key(REQUESTS, route="/v1/spine", method="POST", status="422")] == 1
    assert grown[key(REQUESTS, route="/v1/spine", method="GET", status="405")] == 1
    assert grown[key(DURATIONS, route="/v1/spine")] == 5


def test_whatever_is_asked_for_there_are_no_more_labels(client):
    counts = Counts(client)
    for number in range(50):
        client.get(f"/v1/{number}")
        client.open("/healthz", method=f"M{number}")
    grown = counts.since()
    assert grown[key(REQUESTS, route="unmatched", method="GET", status="404")] == 50
    assert grown[key(REQUESTS, route="/healthz", method="other", status="405")] == 50
    # Those two, and the reading of the counts itself.
    assert sum(name == REQUESTS for name, _ in grown) == 3


def test_every_route_is_a_plain_path(app):
    assert [rule.rule for rule in app.url_map.iter_rules() if "<" in rule.rule] == []


def test_whatever_callers_ask_for_leaves_room_for_rules(app):
    metrics = Metrics()
    for one in app.url_map.iter_rules():
        for method in (*METHODS, "other"):
            for status in (200, 400, 401, 403, 404, 405, 415, 421, 422, 429, 500, 503):
                metrics.end_request(one.rule, method, status, 0.001, 0)
    for number in range(100):
        metrics.note_rule(("hall", f"rule-{number}"), 0.001, "raised")
    metrics.end_request("/v1/fit-check", "POST", 200, 0.001, 0)
    found = samples(metrics.render().decode())
    assert sum(value for (name, _), value in found.items() if name == FAILURES) == 100


def test_verdicts_of_single_checks(client):
    counts = Counts(client)
    verdict = client.post("/v1/fit-check", json=EXAMPLES["fit-check"]).get_json()["verdict"]
    client.post("/v1/fit-check", json={})
    client.post("/v1/minimum-length", json=EXAMPLES["minimum-length"])
    grown = counts.since()
    assert {name: value for name, value in grown.items() if name[0] == VERDICTS} == {
        key(VERDICTS, verdict=verdict): 1
    }


@pytest.mark.parametrize("size", [2, 40], ids=["one by one", "in columns"])
def test_a_batch_is_one_request_and_many_verdicts(client, size):
    good = EXAMPLES["fit-check"]
    short = {**good, "arrow": {**good["arrow"], "length": {"value": 20, "unit": "in"}}}
    full = {**good, "detail": "full"}
    items = [good, short] * (size // 2) + [{}, full]
    counts = Counts(client)
    given = client.post("/v1/fit-check/batch", json={"items": items}).get_json()["items"]
    verdicts = [one["result"]["verdict"] for one in given if one["status"] == 200]
    assert len(verdicts) == size + 1
    assert verdicts.count("stop") == size // 2
    grown = counts.since()
    assert {name: value for name, value in grown.items() if name[0] == VERDICTS} == {
        key(VERDICTS, verdict=verdict): verdicts.count(verdict) for verdict in set(verdicts)
    }
    route = "/v1/fit-check/batch"
    assert grown[key(REQUESTS, route=route, method="POST", status="200")] == 1
    assert grown[key(DURATIONS, route=route)] == 1


def fails(case):
    raise ValueError("no")


def babbles(case):
    return ["words"]


def loops(case):
    while True:
        pass


def speaks(case):
    return [rules.note("fine")]


def test_calls_and_failures_of_plugins_rules():
    # A name of its own: what other tests of this process switched off stays off.
    counted = plugin(
        *(rule(check, check.__name__) for check in (fails, babbles, loops, speaks)), name="counted"
    )
    core = core_rules().registry.plugins
    found = Registry(plugins=(*core, counted))
    installed = Rules(registry=found, configuration=configure(found))
    client = create_app(rules=installed).test_client()
    counts = Counts(client)
    for _ in range(4):
        body = {**EXAMPLES["fit-check"], "detail": "verdict"}
        assert client.post("/v1/fit-check", json=body).get_json()["verdict"] != "pass"
    grown = counts.since()

    def of(name, rule, **labels):
        return grown.get(key(name, plugin="counted", rule=rule, **labels), 0)

    calls = {name: of(CALLS, name) for name in ("fails", "babbles", "loops", "speaks")}
    # However often it was too slow on one fitting, a rule is called again.
    assert calls == {"fails": 4, "babbles": 4, "loops": 4, "speaks": 4}
    assert of(FAILURES, "fails", reason="raised") == 4
    assert of(FAILURES, "babbles", reason="unsound") == 4
    assert of(FAILURES, "loops", reason="timeout") == 4
    assert of(TIME, "loops") > 4 * 0.25
    assert 0 < of(TIME, "speaks") < 0.25
    failures = {labels for name, labels in grown if name == FAILURES}
    assert len(failures) == 3
    # The core's own rules are trusted, and not timed.
    assert not [labels for _, labels in grown if ("plugin", "core") in labels]


def test_a_rule_that_is_off_is_shown_wherever_its_state_is(monkeypatch):
    monkeypatch.setattr("drawmark.rules.watch.LONGEST_CALL", 60.0)
    slow = plugin(rule(loops, "loops"), rule(speaks, "speaks"), name="switched")
    found = Registry(plugins=(*core_rules().registry.plugins, slow))
    installed = Rules(registry=found, configuration=configure(found))
    client = create_app(Settings(single_deadline=30, deadline=30), installed).test_client()

    def shown():
        metric = Counts(client).before.get(key(OFF, plugin="switched", rule="loops"), 0)
        ready = client.get("/readyz").get_json()
        listed = client.get("/v1/plugins").get_json()
        states = [
            one["rules_off"]
            for place in (ready, listed)
            for one in place["plugins"]
            if one["plugin"] == "switched"
        ]
        return metric, ready["status"], states

    assert shown() == (0, "ready", [[], []])
    # Three are enough, but for those in which other work on the machine held the process up.
    for length in range(28, 40):
        body = {**copy.deepcopy(EXAMPLES["fit-check"]), "detail": "verdict"}
        body["arrow"]["length"] = q(length, "in")
        assert client.post("/v1/fit-check", json=body).status_code == 200
        if shown()[0]:
            break
    assert shown() == (1, "degraded", [["loops"], ["loops"]])
    answer = client.post("/v1/fit-check", json=body).get_json()
    assert answer["verdict"] in ("indeterminate", "stop")
    assert "off in this process for a while" in answer["unevaluated"][0]["reason"]


def test_an_observer_that_fails_harms_no_answer():
    watch = Guard()
    watch.observer = fails
    assert watch.call_each([(("p", "r"), lambda case: ["said"])], None) == [["said"]]


def test_what_is_in_force(app):
    from drawmark.web.metrics import metrics_of_process

    client = create_app(Settings(revision="abc"), core_rules()).test_client()
    metrics_of_process().set_state("abc", missing=2, stale=True)
    try:
        now = Counts(client).before
        assert now[key("drawmark_plugins_missing")] == 2
        assert now[key("drawmark_configuration_stale")] == 1
        # Other tests in this process may have stated builds of theirs.
        builds = [labels for name, labels in now if name == "drawmark_build_info"]
        assert [
            now["drawmark_build_info", one] for one in builds if ("revision", "abc") in one
        ] == [1]
    finally:
        metrics_of_process().set_state("abc", missing=0, stale=False)


@pytest.fixture(scope="module")
def of_two(tmp_path_factory):
    """A service of two workers."""
    with serving(tmp_path_factory.mktemp("two")) as served:
        yield served


@pytest.fixture(scope="module")
def of_one(tmp_path_factory):
    """A service of one worker."""
    with serving(tmp_path_factory.mktemp("one"), WEB_CONCURRENCY="1") as served:
        yield served


def figures(served):
    return samples(requests.get(served.url + "/metrics", timeout=10).text)


def kill_a_worker(served):
    victim, workers = min(served.children), len(served.children)
    os.kill(victim, signal.SIGKILL)
    wait_for(lambda: victim not in served.children and len(served.children) == workers)


def test_any_worker_tells_what_all_counted_and_those_that_ended(of_two):
    def ask(times):
        for _ in range(times):
            assert requests.post(
                of_two.url + "/v1/fit-check", json=EXAMPLES["fit-check"], timeout=10
            ).ok

    def told():
        found = figures(of_two)
        request = key(REQUESTS, route="/v1/fit-check", method="POST", status="200")
        verdicts = sum(value for (name, _), value in found.items() if name == VERDICTS)
        # The reading of the counts is itself under way.
        under_way, lost = found[key("drawmark_requests_in_flight")], found[key(LOST)]
        stale = found[key("drawmark_configuration_stale")]
        return found[request], verdicts, stale, under_way, lost

    ask(20)
    assert {told() for _ in range(6)} == {(20, 20, 0, 1, 0)}
    for _ in range(2):
        kill_a_worker(of_two)
    ask(5)
    assert {told() for _ in range(6)} == {(25, 25, 0, 1, 2)}
    # Workers that a reload replaces are not lost.
    hang_up(of_two)
    assert {told() for _ in range(6)} == {(25, 25, 0, 1, 2)}


def test_memory_and_processor_time_of_all_processes(of_two):
    def told():
        found = figures(of_two)
        memory = found[key("drawmark_memory_bytes")]
        return memory / 2**20, found[key("drawmark_processor_seconds_total")]

    memory, before = told()
    assert 50 < memory < 400
    assert before > 0
    # What those that ended used still counts.
    kill_a_worker(of_two)
    assert told()[1] >= before


def test_requests_under_way_of_a_killed_worker_are_over(of_one):
    def under_way():
        return figures(of_one)[key("drawmark_requests_in_flight")]

    held = HeldRequest(of_one.url)
    wait_for(lambda: under_way() == 2)
    kill_a_worker(of_one)
    held.connection.close()
    assert under_way() == 1


def test_heavy_requests_under_way(of_one):
    def under_way():
        return figures(of_one)[key("drawmark_heavy_requests_in_flight")]

    assert under_way() == 0
    held = [HeldRequest(of_one.url, "fit-check/batch") for _ in range(2)]
    wait_for(lambda: under_way() == 2)
    for one in held:
        one.connection.close()
    wait_for(lambda: under_way() == 0)


def test_sizes_of_bodies(client):
    counts = Counts(client)
    for size in (10, 2000, 3_000_000):
        client.post("/v1/fit-check", data=b" " * size, content_type="application/json")
    grown = counts.since()
    name = "drawmark_request_body_bytes"
    assert grown[key(f"{name}_sum")] == 3_002_010
    # Reading the counts has no body.
    below = {bound: grown[key(f"{name}_bucket", le=bound)] for bound in ("1024.0", "4096.0")}
    assert below == {"1024.0": 2, "4096.0": 3}
    assert grown[key(f"{name}_bucket", le="+Inf")] == 4
