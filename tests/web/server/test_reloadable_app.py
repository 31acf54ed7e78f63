"""Configuration and tokens are read again while the service runs, or stay as they were."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
import time

import pytest
import requests

from drawmark.errors import UserError
from drawmark.rules import registry
from drawmark.tokens import make_token
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.server.reloadable_app import ReloadableApp
from drawmark.web.settings import Settings
from servers import needs_proc, wait_for
from web.clubs import Federation
from web.serving import HeldRequest, hang_up, ready, serving

RULESET = """
default = "{name}"
[rulesets.{name}]
title = "An evening"
plugins = []
"""
PLUGINS = registry.load()


def club(name):
    return RULESET.format(name=name)


@pytest.fixture
def files(tmp_path):
    config, tokens = tmp_path / "club.toml", tmp_path / "tokens"
    config.write_text(club("first"))
    token, line = make_token("app")
    tokens.write_text(line)
    return config, tokens, token


def rulesets_of(application, token):
    headers = {"Authorization": f"Bearer {token}"}
    response = application.test_client().get("/v1/rulesets", headers=headers)
    if response.status_code != 200:
        return response.status_code
    return [one["ruleset"] for one in response.get_json()["rulesets"]]


def configuration_of(application):
    response = application.test_client().get("/readyz")
    assert response.status_code == 200
    return response.get_json()["configuration"]


FAULTS = {
    "configuration malformed": (0, "default = ["),
    "configuration of another kind": (0, "defaults = 1"),
    "plugin setting unknown": (0, club("next") + "[rulesets.next.settings.core]\nx = 1\n"),
    "configuration gone": (0, None),
    "configuration emptied": (0, ""),
    "tokens malformed": (1, "app 123"),
    "tokens empty": (1, ""),
    "tokens gone": (1, None),
}


@pytest.mark.parametrize(("which", "text"), FAULTS.values(), ids=FAULTS)
def test_a_fault_keeps_both_as_they_were(files, caplog, which, text):
    *paths, token = files
    reloadable = ReloadableApp(
        create_app, Settings(config=str(paths[0]), tokens_file=str(paths[1])), PLUGINS
    )
    before = reloadable.application
    assert configuration_of(before) == "current"
    other, line = make_token("other")
    paths[0].write_text(club("second"))
    paths[1].write_text(line)
    if text is None:
        paths[which].unlink()
    else:
        paths[which].write_text(text)
    reloadable.reload()
    assert reloadable.application is before
    assert configuration_of(before) == "stale"
    assert rulesets_of(before, token) == ["first"]
    assert rulesets_of(before, other) == 401
    (record,) = caplog.records
    assert str(paths[which]) in record.getMessage() or "rulesets" in record.getMessage()
    assert len(record.getMessage().splitlines()) == 1
    paths[0].write_text(club("second"))
    paths[1].write_text(line)
    reloadable.reload()
    assert reloadable.application is not before
    assert configuration_of(reloadable.application) == "current"
    assert rulesets_of(reloadable.application, other) == ["second"]
    assert rulesets_of(reloadable.application, token) == 401


@pytest.mark.parametrize("fault", [RuntimeError("x"), MemoryError(), SystemExit(3)])
def test_whatever_goes_wrong_the_old_stays(files, fault):
    builds = []

    def build_once(settings, rules):
        if builds:
            raise fault
        builds.append(create_app(settings, rules))
        return builds[0]

    reloadable = ReloadableApp(build_once, Settings(config=str(files[0])), PLUGINS)
    reloadable.reload()
    assert reloadable.application is builds[0]
    assert configuration_of(builds[0]) == "stale"


@pytest.fixture
def federation(tmp_path):
    made = Federation(tmp_path)
    for name in ("alder", "birch"):
        made.club(name, club("first"))
        made.token(name, f"club={name}")
    return made


def sets_of(application, federation):
    client, told = application.test_client(), {}
    for name, headers in federation.sent.items():
        response = client.get("/v1/rulesets", headers=headers)
        told[name] = response.status_code
        if response.status_code == 200:
            told[name] = [one["ruleset"] for one in response.get_json()["rulesets"]]
    return told


def test_a_fault_of_one_club_keeps_that_club_as_it_was(federation, caplog):
    reloadable = ReloadableApp(create_app, federation.settings(), PLUGINS)
    assert configuration_of(reloadable.application) == "current"
    federation.club("alder", "default = [")
    federation.club("birch", club("second"))
    reloadable.reload()
    assert configuration_of(reloadable.application) == "stale"
    assert sets_of(reloadable.application, federation) == {"alder": ["first"], "birch": ["second"]}
    reloadable.reload()
    assert sets_of(reloadable.application, federation) == {"alder": ["first"], "birch": ["second"]}
    (words,) = {one.getMessage() for one in caplog.records if one.levelname == "ERROR"}
    assert words.startswith("alder.toml has faults, and earlier rules hold: ")
    assert "alder.toml: is not TOML" in words
    federation.club("alder", club("third"))
    reloadable.reload()
    assert configuration_of(reloadable.application) == "current"
    assert sets_of(reloadable.application, federation) == {"alder": ["third"], "birch": ["second"]}


def test_a_fault_of_one_club_at_the_start_closes_that_club_alone(federation, caplog):
    federation.club("alder", club("next") + "\nbow = 1\n")
    reloadable = ReloadableApp(create_app, federation.settings(), PLUGINS)
    assert sets_of(reloadable.application, federation) == {"alder": 503, "birch": ["first"]}
    (record,) = caplog.records
    assert record.getMessage().startswith(
        "alder.toml has faults, and its club is answered nothing: "
        "line 7: rulesets.next.bow: is unknown"
    )
    reloadable.reload()
    assert sets_of(reloadable.application, federation) == {"alder": 503, "birch": ["first"]}
    federation.club("alder", club("second"))
    reloadable.reload()
    assert sets_of(reloadable.application, federation) == {"alder": ["second"], "birch": ["first"]}


def test_a_token_whose_rule_set_is_gone_is_closed_and_no_other(federation, caplog):
    federation.token("limited", "club=alder", "rulesets=first")
    reloadable = ReloadableApp(create_app, federation.settings(), PLUGINS)
    federation.club("alder", club("second"))
    reloadable.reload()
    assert sets_of(reloadable.application, federation) == {
        "alder": ["second"],
        "birch": ["first"],
        "limited": 503,
    }
    (words,) = [one.getMessage() for one in caplog.records if one.levelname == "ERROR"]
    assert words.startswith("a token is answered nothing: DRAWMARK_TOKENS_FILE ")
    assert words.endswith(", line 3: names a rule set that its club's file does not have")


@pytest.mark.parametrize("fault", ["tokens", "folder"])
def test_tokens_or_a_folder_with_a_fault_change_nothing(federation, fault):
    reloadable = ReloadableApp(create_app, federation.settings(), PLUGINS)
    before = reloadable.application
    federation.club("alder", club("second"))
    if fault == "tokens":
        federation.tokens.write_text("app 123")
    else:
        federation.folder.rename(federation.folder.with_name("elsewhere"))
    reloadable.reload()
    assert reloadable.application is before
    assert configuration_of(before) == "stale"
    assert sets_of(before, federation) == {"alder": ["first"], "birch": ["first"]}


def test_a_request_that_began_before_a_reload_ends_by_the_rules_of_then(federation):
    """Its body arrives only after the reload."""
    reloadable = ReloadableApp(create_app, federation.settings(), PLUGINS)

    class Late(io.BytesIO):
        def read(self, *most):
            if not self.tell():
                federation.club("alder", club("second"))
                reloadable.reload()
            return super().read(*most)

    body = json.dumps(EXAMPLES["fit-check"]).encode()
    answer = reloadable.application.test_client().post(
        "/v1/fit-check",
        headers={**federation.sent["alder"], "Content-Type": "application/json"},
        input_stream=Late(body),
        content_length=len(body),
    )
    assert answer.get_json()["ruleset"] == "first"
    assert sets_of(reloadable.application, federation)["alder"] == ["second"]


REFUSED = {
    "no tokens": (None, "is a folder of clubs' files: set DRAWMARK_TOKENS_FILE too"),
    "a token of no club": ("rate=2", "line 2: names no club"),
}


@pytest.mark.parametrize(("words", "said"), REFUSED.values(), ids=REFUSED)
def test_nobody_can_ask_who_belongs_to_no_club(federation, words, said):
    settings = federation.settings()
    if words is None:
        settings = Settings(config=settings.config)
    else:
        federation.tokens.write_text("# one of no club\n")
        federation.token("app", words)
    with pytest.raises(UserError, match=said) as raised:
        ReloadableApp(create_app, settings, PLUGINS)
    assert len(str(raised.value).splitlines()) == 1


def ask(served, token, path="/v1/rulesets"):
    headers = {"Authorization": f"Bearer {token}"}
    return requests.get(served.url + path, headers=headers, timeout=10)


def names(served, token):
    """What each of several connections is told: they meet every worker."""
    told = {
        tuple(one["ruleset"] for one in ask(served, token).json()["rulesets"]) for _ in range(8)
    }
    (found,) = told
    return found


def statuses(served, token):
    return {ask(served, token).status_code for _ in range(8)}


def test_signal_to_a_running_service(files, tmp_path):
    config, tokens, token = files
    environment = {"DRAWMARK_CONFIG": str(config), "DRAWMARK_TOKENS_FILE": str(tokens)}
    with serving(tmp_path, **environment) as served:
        other, line = make_token("other")
        assert names(served, token) == ("first",)
        assert statuses(served, other) == {401}

        config.write_text(club("second"))
        tokens.write_text(f"{tokens.read_text()}\n{line}")
        hang_up(served)
        assert names(served, token) == names(served, other) == ("second",)
        assert {ready(served)["configuration"] for _ in range(8)} == {"current"}

        config.write_text("default = [")
        tokens.write_text(line)
        hang_up(served)
        assert {ready(served)["configuration"] for _ in range(8)} == {"stale"}
        assert names(served, token) == names(served, other) == ("second",)
        assert "drawmark_configuration_stale 1.0" in ask(served, token, "/metrics").text
        assert "is not TOML" in served.log.read_text(encoding="utf-8")

        config.write_text(club("third"))
        hang_up(served)
        assert {ready(served)["configuration"] for _ in range(8)} == {"current"}
        assert names(served, other) == ("third",)
        assert statuses(served, token) == {401}
        assert "drawmark_configuration_stale 0.0" in ask(served, other, "/metrics").text

        log = served.log.read_text(encoding="utf-8")
        assert token not in log
        assert other not in log
        lines = [json.loads(one) for one in log.splitlines() if one.startswith("{")]
        assert {one.get("caller") for one in lines} == {None, "app", "other"}


STATED = """
[[rulesets.first.rules]]
id = "{club}-weight"
fact = "draw_weight"
above = "60 lbf"
severity = "stop"
message = "Too heavy."
"""


@pytest.mark.long
def test_signal_to_a_running_service_of_many_clubs(federation, tmp_path):
    federation.token("watch", "maintainer")
    for name in ("alder", "birch"):
        federation.club(name, club("first") + STATED.replace("{club}", name))
    environment = {
        "DRAWMARK_CONFIG": str(federation.folder),
        "DRAWMARK_TOKENS_FILE": str(federation.tokens),
    }

    def named(served):
        found = set()
        for _ in range(8):
            answers = [
                requests.post(
                    served.url + "/v1/fit-check",
                    json=EXAMPLES["fit-check"],
                    headers=federation.sent[name],
                    timeout=10,
                ).json()
                for name in ("alder", "birch")
            ]
            found.add(tuple(one.get("ruleset", one.get("status")) for one in answers))
        (told,) = found
        return told

    def metrics(served):
        sent = federation.sent["watch"]
        return requests.get(served.url + "/metrics", headers=sent, timeout=10).text

    with serving(tmp_path, **environment) as served:
        assert named(served) == ("first", "first")
        federation.club("alder", "default = [")
        federation.club("birch", club("second"))
        hang_up(served)
        assert named(served) == ("first", "second")
        assert ready(served)["configuration"] == "stale"
        assert ready(served)["clubs"]["stale"] == 1
        said = metrics(served)
        assert 'drawmark_clubs{state="stale"} 1.0' in said
        assert 'drawmark_clubs{state="known"} 2.0' in said
        # No label of a club's own.
        assert 'drawmark_rule_calls_total{plugin="club-file",rule=""}' in said
        assert "alder" not in said
        federation.club("alder", club("third"))
        hang_up(served)
        assert named(served) == ("third", "second")
        assert ready(served)["clubs"]["stale"] == 0
        assert 'drawmark_clubs{state="stale"} 0.0' in metrics(served)
        log = served.log.read_text(encoding="utf-8")
        assert "alder.toml has faults, and earlier rules hold: " in log
        callers = {json.loads(one).get("caller") for one in log.splitlines() if one[0] == "{"}
        assert callers == {None, "alder", "birch", "watch"}


def test_requests_under_way_are_answered(tmp_path):
    config = tmp_path / "club.toml"
    config.write_text(club("first"))
    with serving(tmp_path, DRAWMARK_CONFIG=str(config)) as served:
        # As many as one worker waits for.
        held = [HeldRequest(served.url) for _ in range(2)]
        # Time for workers to accept them.
        time.sleep(1)
        before = served.children
        config.write_text(club("second"))
        served.send(signal.SIGHUP)
        wait_for(lambda: len(served.children - before) == 2)
        for _ in range(10):
            assert requests.get(served.url + "/v1/rulesets", timeout=20).ok
        for one in held:
            answer = one.finish()
            assert answer.startswith(b"HTTP/1.1 200 ")
            assert b'"verdict"' in answer
        wait_for(lambda: not served.children & before)
        (told,) = requests.get(served.url + "/v1/rulesets", timeout=10).json()["rulesets"]
        assert told["ruleset"] == "second"


@pytest.mark.soak
@needs_proc
def test_a_thousand_reloads_take_no_memory():
    code = """
import logging
from pathlib import Path
from drawmark.errors import UserError
from drawmark.rules import registry
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.server.reloadable_app import ReloadableApp
from drawmark.web.settings import Settings

logging.disable()
app = ReloadableApp(create_app, Settings(), registry.load())
for number in range(1001):
    app.reload()
    if number in (50, 1000):
        print(Path("/proc/self/statm").read_text().split()[1])
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    early, late = map(int, done.stdout.split())
    assert (late - early) * os.sysconf("SC_PAGE_SIZE") < 8e6
