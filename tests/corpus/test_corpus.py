"""Every answer of the corpus is what it was: figures to the wire's resolution, texts aside.

Regression, not validation. A change that is meant is recorded anew:

    cd tests && python -m corpus.record --keep
"""

from __future__ import annotations

import math

import pytest

from corpus.asked import all_requests
from corpus.record import KEPT, ask_all, differences, read, without_texts

pytestmark = pytest.mark.usefixtures("patience")


@pytest.fixture(scope="module")
def requests():
    return all_requests()


def test_it_is_varied(requests):
    paths = {asked.path for asked in requests}
    assert len(requests) >= 3000
    assert len(paths) >= 19


def test_answers_are_what_they_were(requests):
    kept = read(KEPT)
    answers = [without_texts(answer) for answer in ask_all(requests)]
    assert len(kept) == len(answers)
    differing = {
        number: found
        for number, pair in enumerate(zip(kept, answers, strict=True))
        if (found := list(differences(*pair, alike=is_near)))
    }
    shown = {number: (requests[number].group, differing[number]) for number in list(differing)[:5]}
    assert not differing, f"{len(differing)} answers differ, the first: {shown}"


def is_near(old, new):
    """The same to the last printed digit, give or take one: another processor rounds otherwise."""
    if isinstance(old, float) and isinstance(new, float):
        return math.isclose(old, new, rel_tol=1e-5, abs_tol=0.011)
    return old == new
