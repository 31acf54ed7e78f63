"""What is told of an evening follows from its prices, and all of it is answered."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from benchmarks import scaling
from drawmark.web import create_app
from drawmark.web.wire.installed_rules import core_rules
from nginx import find_nginx
from servers import needs_proc

ROOT = Path(__file__).parents[2]
OPERATING = (ROOT / "service" / "docs" / "operating.md").read_text(encoding="utf-8")


def test_what_a_thousand_clubs_need_follows_from_the_prices_that_are_told():
    row = re.compile(r"^\| (.+) \| \d+ \| ([0-9.]+) ms \| ([0-9.]+) ms \|", re.MULTILINE)
    told = {name: (float(a), float(b)) for name, a, b in row.findall(OPERATING)}
    assert told.keys() == {kind.name for kind in scaling.evening()}
    assert scaling.needs(told) in OPERATING


def test_figures_are_those_of_compose():
    services = yaml.safe_load((ROOT / "docker" / "compose.yaml").read_text())["services"]
    told = [services[name]["mem_limit"] for name in ("drawmark-1", "nginx")]
    assert told == [f"{scaling.SERVICE_MEMORY}m", f"{scaling.NGINX_MEMORY}m"]
    assert (
        f"WEB_CONCURRENCY=${{WEB_CONCURRENCY:-{scaling.WORKERS}}}"
        in (services["drawmark-1"]["environment"])
    )
    page = (ROOT / "service" / "drawmark" / "web" / "bench" / "files" / "bench.js").read_text()
    assert f"const SHORTER = {scaling.SHORTER};" in page


@pytest.mark.parametrize("kind", scaling.evening(), ids=lambda kind: kind.name)
def test_each_request_of_an_evening_is_answered(kind):
    client = create_app(rules=core_rules()).test_client()
    for body in kind.bodies:
        answer = client.post(f"/v1/{kind.path}", json=body, headers={"Accept": kind.accept})
        assert answer.status_code == 200
        assert answer.mimetype == kind.accept


@pytest.mark.soak
@needs_proc
@pytest.mark.skipif(find_nginx() is None, reason="nginx is not installed here")
def test_two_services_reach_what_their_shares_allow():
    one, two = scaling.table([1, 2], seconds=0.5)
    for row in (one, two):
        assert 0 < row.nginx < row.service
        assert row.median < row.p99
        # Loose: other processes come and go.
        assert 0.3 * row.ideal < row.rate < 1.5 * row.ideal
