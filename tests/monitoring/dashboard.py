"""The dashboard's panels and queries, as its file has them."""

from __future__ import annotations

import json
from typing import Any

from monitoring.alerting import FOLDER

DASHBOARD: dict[str, Any] = json.loads((FOLDER / "dashboard.json").read_text(encoding="utf-8"))
PANELS: list[dict[str, Any]] = DASHBOARD["panels"]
EXPRESSIONS: list[str] = [target["expr"] for panel in PANELS for target in panel["targets"]]
VARIABLES = {"job": "drawmark", "instance": ".*", "__rate_interval": "1m"}
"""What stands for each variable where a query is tried."""
