"""An arrow against floors and ceilings: what is stopped, doubted and cautioned."""

from __future__ import annotations

import numpy as np
import pytest

from drawmark import rules
from drawmark.rules.length_findings import LONG, NEAR, length_findings
from drawmark.rules.length_findings import SHORT as SHORT_OF
from drawmark.rules.length_findings import UNSHOWN as UNSHOWN_OF
from drawmark.rules.outcome import Attributed
from rules.bench import facts_with

BAND = 0.0127


def floor(length, id="bow-back", plugin="core"):
    return Attributed(plugin, "minimum-length", rules.floor(length, "reason", id=id))


def ceiling(length):
    return Attributed("local", "rack", rules.ceiling(length, "reason"))


def find(facts, floors=(), ceilings=()):
    found = length_findings(facts, floors, ceilings)
    return [(placed.said.severity, placed.said.message) for placed in found]


SHORT, UNSHOWN = (f"{words} Reason." for words in (SHORT_OF, UNSHOWN_OF))
UNSHOWN_CLICKER = {"unshown": ("bow.clicker_range",), "claimed": "clicker"}


@pytest.mark.parametrize(
    ("facts", "floors", "ceilings", "said"),
    [
        pytest.param({"usable_length": None}, [floor(0.9)], [ceiling(0.1)], [], id="no length"),
        pytest.param({}, [], [], [], id="no floors"),
        pytest.param({}, [floor(0.75)], [], [], id="well above"),
        pytest.param({}, [floor(0.801)], [], [("stop", SHORT)], id="below"),
        pytest.param({}, [floor(0.80)], [], [("caution", NEAR["learning"])], id="at"),
        pytest.param(
            {},
            [floor(0.80 + 0.9e-6)],
            [],
            [("caution", NEAR["learning"])],
            id="within the tolerance",
        ),
        pytest.param({}, [floor(0.80 + 1.1e-6)], [], [("stop", SHORT)], id="beyond the tolerance"),
        pytest.param({}, [floor(0.80 - BAND)], [], [], id="half an inch above"),
        pytest.param(
            {},
            [floor(0.80 - BAND + 2e-6)],
            [],
            [("caution", NEAR["learning"])],
            id="just within half an inch",
        ),
        pytest.param(
            {},
            [floor(0.81), floor(0.70, "hand")],
            [],
            [("stop", SHORT)],
            id="the larger floor counts",
        ),
        pytest.param(
            {},
            [floor(0.81), floor(0.805, "hand")],
            [],
            [("stop", SHORT), ("stop", SHORT)],
            id="every floor that is broken is named",
        ),
        pytest.param(
            UNSHOWN_CLICKER,
            [floor(0.81), floor(0.78, "rest-retention")],
            [],
            [("indeterminate", UNSHOWN)],
            id="claimed, only the bow's back stops",
        ),
        pytest.param(
            UNSHOWN_CLICKER,
            [floor(0.82), floor(0.81, "rest-retention")],
            [],
            [("indeterminate", UNSHOWN), ("stop", SHORT)],
            id="claimed, and off the rest",
        ),
        pytest.param(
            UNSHOWN_CLICKER,
            [floor(0.75), floor(0.81, plugin="local")],
            [],
            [("stop", SHORT)],
            id="claimed, and a local floor of that name",
        ),
        pytest.param(
            {"claimed": "clicker", "refuted": True},
            [floor(0.81)],
            [],
            [("stop", SHORT)],
            id="a refuted clicker is no doubt",
        ),
        pytest.param(
            {}, [], [ceiling(0.79)], [("caution", f"{LONG} Reason.")], id="above a ceiling"
        ),
        pytest.param({}, [], [ceiling(0.80)], [], id="at a ceiling"),
        pytest.param(
            {"usable_length": 0.79, "sleeve": 0.01},
            [floor(0.75)],
            [ceiling(0.795)],
            [("caution", f"{LONG} Reason.")],
            id="a ceiling is of the arrow, collar and all",
        ),
        pytest.param(
            {},
            [floor(0.81)],
            [ceiling(0.79)],
            [("stop", SHORT), ("caution", f"{LONG} Reason.")],
            id="no length serves",
        ),
    ],
)
def test_findings(facts, floors, ceilings, said):
    assert find(facts_with(**facts), floors, ceilings) == said


def test_collar_counts_with_the_arrow_in_what_is_reported():
    (placed,) = length_findings(facts_with(usable_length=0.78, sleeve=0.02), [floor(0.79)], [])
    assert placed.said.measured.value == pytest.approx(0.80)
    assert placed.said.limit.value == pytest.approx(0.81)
    assert placed.said.limit.up
    assert placed.said.fields == ("arrow.length",)


def test_doubt_names_the_fields_that_would_lift_it():
    (placed,) = length_findings(facts_with(**UNSHOWN_CLICKER), [floor(0.81)], [])
    assert placed.said.fields == ("bow.clicker_range",)


def test_columns_say_what_single_arrows_say():
    lengths = np.array([0.70, 0.7499, 0.75, 0.755, 0.77, 0.80, 0.85])
    floors, ceilings = [floor(0.75), floor(0.72, "hand")], [ceiling(0.82)]
    many = length_findings(facts_with(usable_length=lengths), floors, ceilings)
    for at, length in enumerate(lengths):
        said = [
            (placed.said.severity, placed.said.message)
            for placed in many
            if np.broadcast_to(placed.said.when, lengths.shape)[at]
        ]
        assert said == find(facts_with(usable_length=float(length)), floors, ceilings)
