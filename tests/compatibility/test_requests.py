"""Requests of the last release get an answer, with each member as it was, and no laxer verdict."""

from __future__ import annotations

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
