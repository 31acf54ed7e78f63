"""Prometheus itself, with the shipped files, reads a real service; so does each dashboard query."""

from __future__ import annotations

import json
import re
import shutil
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import requests
from prometheus_client.parser import text_string_to_metric_families

from drawmark.tokens import make_token
from drawmark.web.document.examples import EXAMPLES
from monitoring.alerting import FOLDER, NAMES, tool
from monitoring.dashboard import EXPRESSIONS, VARIABLES
from monitoring.test_faults import IN_PROMETHEUS, MISBEHAVING
from servers import Process, free_port, install, running, service, wait_for

RATE = 5
"""Requests a second that a token may send."""
CLUB = 'default = "club"\n[rulesets.club]\nplugins = ["misbehaving"]\n'
RAISING = {**EXAMPLES["fit-check"], "local": {"misbehaving": {"raises": True}}}
REFUSED = 'rate(drawmark_requests_total{status="429"}[1m])'


def prometheus(folder: Path, target: int, token: str) -> Process:
    """Give Prometheus, not yet started, with the shipped files for a service on a port."""
    shutil.copytree(FOLDER, folder / "monitoring")
    settings = folder / "monitoring" / "prometheus.yml"
    text = settings.read_text().replace("drawmark-1:8000", f"127.0.0.1:{target}")
    settings.write_text(text.replace("15s", "1s"))
    (settings.parent / "token").write_text(token)
    port = free_port()
    command: list[str | Path] = [
        tool("prometheus"),
        f"--config.file={settings}",
        f"--storage.tsdb.path={folder / 'data'}",
        f"--web.listen-address=127.0.0.1:{port}",
        "--log.level=warn",
    ]
    return Process(command, port, folder / "prometheus.log")


@pytest.fixture
def guarded(tmp_path: Path) -> Iterator[tuple[Process, list[str]]]:
    """Give a service for many clubs, with the tokens of Prometheus and of one club."""
    made = [make_token("prometheus", ["maintainer"]), make_token("desk", ["club=elm-hall"])]
    tokens = tmp_path / "tokens"
    tokens.write_text("\n".join(line for _, line in made))
    tokens.chmod(0o600)
    plugins = tmp_path / "plugins"
    plugins.mkdir()
    found = install(plugins, "misbehaving", MISBEHAVING.read_text())
    clubs = tmp_path / "clubs"
    clubs.mkdir()
    (clubs / "elm-hall.toml").write_text(CLUB)
    settings = {
        "DRAWMARK_CONFIG": str(clubs),
        "DRAWMARK_TOKENS_FILE": str(tokens),
        "DRAWMARK_RATE_LIMIT": str(RATE),
    }
    with running(service(tmp_path, WEB_CONCURRENCY="1", **settings, **found)) as served:
        yield served, [token for token, _ in made]


@pytest.mark.long
def test_prometheus_reads_a_service_and_the_dashboard_shows_it(
    guarded: tuple[Process, list[str]], tmp_path: Path
) -> None:
    served, (token, callers) = guarded
    caller = requests.Session()
    caller.headers["Authorization"] = f"Bearer {callers}"
    watching = prometheus(tmp_path, served.port, token)

    def told(path: str, **asked: str) -> Any:
        answer = requests.get(f"{watching.url}/api/v1/{path}", asked, timeout=10).json()
        assert answer["status"] == "success", answer
        return answer["data"]

    def query(expression: str) -> Any:
        return told("query", query=expression)["result"]

    def hurry() -> set[int]:
        address = f"{served.url}/v1/fit-check"
        return {caller.post(address, json=RAISING, timeout=10).status_code for _ in range(3 * RATE)}

    with running(watching):
        wait_for(lambda: requests.get(f"{watching.url}/-/ready", timeout=10).ok)
        wait_for(lambda: query("up == 1"))
        # What is counted for the first time has not grown yet, so again and again.
        wait_for(lambda: hurry() >= {200, 429} and query(f"{REFUSED} > 0"))
        headers = {"Authorization": f"Bearer {token}"}
        metrics = requests.get(f"{served.url}/metrics", headers=headers, timeout=10).text
        names = {
            f"{family.name}{ending}"
            for family in text_string_to_metric_families(metrics)
            for ending in ("", "_total", "_bucket")
        }
        for expression in EXPRESSIONS:
            assert set(re.findall(r"\bdrawmark_\w+", expression)) <= names, expression
            for name, value in VARIABLES.items():
                expression = expression.replace(f"${name}", value)
            assert query(expression), expression
        wait_for(lambda: {"DrawmarkRuleFails", "DrawmarkRequestsRefused"} <= alerts(told).keys())
        (group,) = told("rules")["groups"]
        assert [rule["name"] for rule in group["rules"] if rule["health"] == "ok"] == NAMES
        said = json.dumps(alerts(told))
        assert "The rule raises of misbehaving fails." in said
        assert "refuses requests with 429" in said
        assert "{{" not in said
        assert "no value" not in said
        assert not IN_PROMETHEUS & alerts(told).keys()
        (tmp_path / "clubs" / "oak-hall.toml").write_text("default = [")
        served.send(signal.SIGHUP)
        wait_for(lambda: alerts(told).keys() >= IN_PROMETHEUS)


def alerts(told: Any) -> dict[str, Any]:
    return {one["labels"]["alertname"]: one["annotations"] for one in told("alerts")["alerts"]}
