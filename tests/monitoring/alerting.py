"""Asks promtool which of the shipped alerts fire on some series, minute by minute."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import yaml

FOLDER = Path(__file__).parents[2] / "docker" / "monitoring"
RULES: list[dict[str, Any]] = [
    rule
    for group in yaml.safe_load((FOLDER / "alerts.yml").read_text(encoding="utf-8"))["groups"]
    for rule in group["rules"]
]
NAMES = [rule["alert"] for rule in RULES]
FAULT_AT = 30
"""Minutes of health before a fault begins."""
FIRING = 'group by (alertname) (ALERTS{alertstate="firing", alertname!~"%s"})'


def tool(name: str) -> str:
    """Give a command of Debian's package `prometheus`; `.ci/run` says that it must be there."""
    found = shutil.which(name)
    if found is None:
        assert not os.environ.get("TESTS_NEED_PROMETHEUS"), f"{name} is not installed here"
        pytest.skip(f"{name} is not installed here")
    return found


@dataclass(frozen=True)
class Expectation:
    """Series, one value a minute in promtool's notation, and which alerts fire at a minute."""

    name: str
    series: Mapping[str, str]
    firing: Mapping[int, Set[str]]
    ignored: Set[str] = frozenset()

    def as_test(self) -> dict[str, Any]:
        return {
            "name": self.name,
            "interval": "1m",
            "input_series": [{"series": key, "values": one} for key, one in self.series.items()],
            "promql_expr_test": [
                {
                    "expr": FIRING % "|".join(self.ignored),
                    "eval_time": f"{minute}m",
                    "exp_samples": [
                        {"labels": json.dumps(alert).join(("{alertname=", "}")), "value": 1}
                        for alert in sorted(alerts)
                    ],
                }
                for minute, alerts in self.firing.items()
            ],
        }


def refuted(expectations: Sequence[Expectation], folder: Path) -> str:
    """Give what promtool says against them; nothing where all hold."""
    file = folder / "expected.yml"
    content = {
        "rule_files": [str(FOLDER / "alerts.yml")],
        "evaluation_interval": "1m",
        "tests": [one.as_test() for one in expectations],
    }
    file.write_text(yaml.safe_dump(content, sort_keys=False), encoding="utf-8")
    done = subprocess.run(
        [tool("promtool"), "test", "rules", file], capture_output=True, text=True, timeout=60
    )
    return "" if done.returncode == 0 else done.stdout + done.stderr
