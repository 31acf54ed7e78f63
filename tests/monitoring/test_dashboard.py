"""The dashboard's file: nothing exported, every panel with a title, a unit and a place of its own.

Its queries are tried in `test_prometheus.py`.
"""

from __future__ import annotations

import itertools
import re

import pytest

from monitoring.dashboard import DASHBOARD, EXPRESSIONS, PANELS, VARIABLES

UNITS = {"none", "s", "bytes", "percentunit", "reqps", "cps"}
SOURCE = {"type": "prometheus", "uid": "${datasource}"}
TITLES = [panel["title"] for panel in PANELS]


def test_nothing_of_the_place_where_it_was_made() -> None:
    assert not {"id", "uid", "version", "iteration", "__inputs"} & set(DASHBOARD)
    assert DASHBOARD["title"] == "Drawmark"
    assert isinstance(DASHBOARD["schemaVersion"], int)


def test_variables_are_declared_and_used() -> None:
    declared = {one["name"] for one in DASHBOARD["templating"]["list"]}
    used = set(re.findall(r"\$(\w+)", " ".join(EXPRESSIONS)))
    assert used == set(VARIABLES)
    assert declared == used - {"__rate_interval"} | {"datasource"}
    for one in DASHBOARD["templating"]["list"]:
        assert one["type"] == "datasource" or one["datasource"] == SOURCE


def test_panels_are_told_apart() -> None:
    assert len(set(TITLES)) == len(TITLES)
    assert [panel["id"] for panel in PANELS] == list(range(1, len(PANELS) + 1))


@pytest.mark.parametrize("panel", PANELS, ids=TITLES)
def test_a_panel_has_what_a_reader_needs(panel: dict) -> None:
    assert panel["type"] in ("stat", "timeseries")
    assert panel["fieldConfig"]["defaults"]["unit"] in UNITS
    assert panel["fieldConfig"]["overrides"] == []
    assert panel["datasource"] == SOURCE
    assert [target["refId"] for target in panel["targets"]] == ["A", "B", "C"][
        : len(panel["targets"])
    ]
    for target in panel["targets"]:
        assert target["datasource"] == SOURCE
        assert target["legendFormat"]
        # Each name in the legend is one that the query keeps.
        for label in re.findall(r"{{(\w+)}}", target["legendFormat"]):
            assert label == "instance" or re.search(rf"by \([^)]*\b{label}\b", target["expr"])


def test_panels_lie_beside_each_other() -> None:
    places = set()
    for panel in PANELS:
        place = panel["gridPos"]
        cells = set(
            itertools.product(
                range(place["x"], place["x"] + place["w"]),
                range(place["y"], place["y"] + place["h"]),
            )
        )
        assert cells
        assert not cells & places
        places |= cells
    assert {x for x, _ in places} == set(range(24))
