"""Each alert on invented series: not at the edge, and beyond it after its time and not before."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from drawmark.web.server.gateway import HEAVY
from drawmark.web.wire.installed_rules import core_rules
from drawmark.web.wire.operations import operations_of
from monitoring.alerting import FAULT_AT, FOLDER, NAMES, RULES, Expectation, refuted, tool

COPY = 'job="drawmark", instance="one:8000"'
CHECKS = f'{COPY}, route="/v1/fit-check"'
ANSWERS = f'drawmark_requests_total{{{CHECKS}, method="POST", status="%s"}}'
TIMES = f'drawmark_request_duration_seconds_bucket{{{CHECKS}, le="%s"}}'
RULE = f'{COPY}, plugin="hall", rule="wall"'
FAILURES = f'drawmark_rule_failures_total{{{RULE}, reason="%s"}}'

# Alert, the minute at which it first fires, and series: in health at most at the edge, then beyond.
# `a+bxn` stands for a, a+b, ... a+n*b, one a minute; `_` for none.
INVENTED = [
    ("DrawmarkDown", 32, {f"up{{{COPY}}}": ("1+0x29", "0+0x30")}),
    ("DrawmarkPluginMissing", 31, {f"drawmark_plugins_missing{{{COPY}}}": ("0+0x29", "2+0x30")}),
    (
        "DrawmarkConfigurationStale",
        31,
        {f"drawmark_configuration_stale{{{COPY}}}": ("0+0x29", "1+0x30")},
    ),
    (
        "DrawmarkClubClosed",
        31,
        {f'drawmark_clubs{{{COPY}, state="closed"}}': ("0+0x29", "1+0x30")},
    ),
    ("DrawmarkRuleFails", 30, {FAILURES % "raised": ("7+0x29", "8+0x30")}),
    ("DrawmarkRuleFails", 30, {FAILURES % "timeout": ("_x30", "1+0x30")}),
    # Counts begin anew with a service.
    ("DrawmarkRuleFails", 31, {FAILURES % "unsound": ("7+0x29", "_ 1+0x29")}),
    ("DrawmarkRuleOff", 30, {f"drawmark_rules_off{{{RULE}}}": ("_x30", "1 _x30")}),
    (
        "DrawmarkSingleChecksSlow",
        40,
        {
            TIMES % "0.25": ("0+990x29", "29699+989x30"),
            TIMES % "0.5": ("0+1000x29", "30000+1000x30"),
            TIMES % "+Inf": ("0+1000x29", "30000+1000x30"),
        },
    ),
    (
        "DrawmarkRequestsFail",
        35,
        {
            ANSWERS % "200": ("0+990x29", "29700+980x30"),
            ANSWERS % "500": ("0+10x29", "310+20x30"),
        },
    ),
    (
        "DrawmarkRequestsRefused",
        35,
        {
            ANSWERS % "200": ("0+950x29", "28500+900x30"),
            ANSWERS % "503": ("0+50x29", "1550+100x30"),
        },
    ),
    (
        "DrawmarkRequestsRefused",
        35,
        {
            ANSWERS % "200": ("0+950x29", "28500+900x30"),
            ANSWERS % "429": ("0+50x29", "1550+100x30"),
        },
    ),
    (
        "DrawmarkStreamsTorn",
        30,
        {f"drawmark_streams_torn_total{{{COPY}}}": ("0+0x27 1 2", "3+0x30")},
    ),
    ("DrawmarkWorkersLost", 30, {f"drawmark_workers_lost_total{{{COPY}}}": ("4+0x29", "5+0x30")}),
    (
        "DrawmarkMemoryHigh",
        35,
        {f"drawmark_memory_bytes{{{COPY}}}": ("644245094+0x29", "644245095+0x30")},
    ),
]


def test_alerts_fire_after_their_time_and_not_before(tmp_path: Path) -> None:
    expectations = [
        Expectation(
            f"{alert} at minute {first}",
            {name: f"{health} {fault}" for name, (health, fault) in series.items()},
            {FAULT_AT - 1: set(), first - 1: set(), first: {alert}},
        )
        for alert, first, series in INVENTED
    ]
    assert refuted(expectations, tmp_path) == ""


def test_each_alert_has_its_series() -> None:
    assert {alert for alert, _, _ in INVENTED} == set(NAMES)
    assert len(NAMES) == len(set(NAMES))


def test_what_is_expected_can_be_refuted(tmp_path: Path) -> None:
    series = {f"up{{{COPY}}}": "0+0x60"}
    wrong = [Expectation("none", series, {10: set()}), Expectation("two", series, {10: {*NAMES}})]
    told = refuted(wrong, tmp_path)
    assert told.count("DrawmarkDown") >= 2


def test_files_are_what_prometheus_reads(tmp_path: Path) -> None:
    for name in ("alerts.yml", "prometheus.yml"):
        (tmp_path / name).write_bytes((FOLDER / name).read_bytes())
    (tmp_path / "token").write_text("secret")
    command = [tool("promtool"), "check", "config", "--lint-fatal", tmp_path / "prometheus.yml"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"{len(NAMES)} rules found" in done.stdout


@pytest.mark.parametrize("rule", RULES, ids=NAMES)
def test_what_an_alert_says(rule: dict) -> None:
    said = rule["annotations"]
    assert set(said) == {"summary", "description", "action"}
    assert all(words.endswith(".") for words in said.values())
    assert "{{" in said["description"], "the figure"
    assert rule["labels"]["severity"] in ("critical", "warning")


def test_single_checks_are_the_operations_that_are_not_heavy() -> None:
    (slow,) = (rule for rule in RULES if rule["alert"] == "DrawmarkSingleChecksSlow")
    light = sorted({f"/v1/{one.path}" for one in operations_of(core_rules())} - HEAVY)
    assert "/v1/(" + "|".join(path.removeprefix("/v1/") for path in light) + ")" in slow["expr"]


@pytest.mark.parametrize("page", ["docker/monitoring/README.md", "service/docs/operating.md"])
def test_pages_tell_what_each_alert_means(page: str) -> None:
    text = (FOLDER.parents[1] / page).read_text(encoding="utf-8")
    assert re.findall(r"^\| `(Drawmark\w+)`", text, re.M) == NAMES
    critical = re.findall(r"^\| `(\w+)` \(critical\)", text, re.M)
    urgent = [rule["alert"] for rule in RULES if rule["labels"]["severity"] == "critical"]
    assert critical in ([], urgent)


def test_the_limit_of_memory_is_that_of_the_containers() -> None:
    limits = set(re.findall(r"mem_limit: (\d+)m", (FOLDER.parent / "compose.yaml").read_text()))
    (high,) = (rule for rule in RULES if rule["alert"] == "DrawmarkMemoryHigh")
    (limit,) = re.findall(r"\* (\d+) \* 1024 \^ 2$", high["expr"])
    assert limit in limits
