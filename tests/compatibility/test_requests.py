"""Requests of the last release get an answer, with each member as it was, and no laxer verdict."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from compatibility import released
from compatibility.answers import differences

ANSWERS = released.kept("answers")
# The plugins of the last release may use names that are on their way out.
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.mark.parametrize(
    "kept",
    ANSWERS,
    ids=[f"{number} {one['path']} {one['accept']}" for number, one in enumerate(ANSWERS)],
)
def test_a_request_of_the_last_release_is_answered(club, kept, found):
    response = club.open(
        kept["path"],
        method=kept["method"],
        data=kept["body"],
        headers={"Content-Type": kept["type"], "Accept": kept["accept"]},
    )
    text = response.text
    response.close()
    assert response.status_code == 200, text
    changed = {(kept["path"], *one) for one in differences(kept["accept"], kept["answer"], text)}
    found |= changed
    assert sorted(changed - released.differences("answers").keys()) == []


def test_no_listed_difference_is_out_of_date(found):
    assert released.differences("answers").keys() - found == set()


def test_no_verdict_became_less_strict():
    assert [one for one in released.differences("answers") if "less strict" in one[2]] == []


REFUSED = tomllib.loads(released.DIFFERENCES.read_text()).get("refused", [])
CHANGES = (Path(__file__).parents[2] / "service/CHANGES.md").read_text()


@pytest.mark.parametrize("row", REFUSED, ids=lambda row: row["told"])
def test_what_is_refused_now_is_told_in_the_changes(club, row):
    operation = released.kept("document")["paths"][row["path"]]["post"]
    example = operation["requestBody"]["content"]["application/json"]["example"]
    response = club.post(row["path"], json={**example, **row["change"]})
    assert response.status_code == 422
    assert row["pointer"] in [one["pointer"] for one in response.get_json()["errors"]]
    _, _, told = CHANGES.partition("### What you must change\n")
    assert f"- **{row['told']}**" in told.partition("\n### ")[0]
