"""A draw is shortened to the longest at which the arrow may be shot."""

from __future__ import annotations

import pytest

from drawmark.answers.common.draw_search import DOUBT, STOP, Told, search_by_verdict
from drawmark.fitting.limits import TOLERANCE

PASS, CAUTION = 0, 1


def steps(*ends):
    """Verdicts by draw: each holds up to its end [m]."""

    def ask(draw):
        return next((severity, draw) for end, severity in ends if draw <= end)

    return ask


@pytest.mark.parametrize(
    ("ends", "draw", "doubtful", "told"),
    [
        pytest.param([(9, PASS)], 0.7, False, False, id="nothing against it"),
        pytest.param([(9, CAUTION)], 0.7, False, False, id="a caution"),
        pytest.param([(0.6, PASS), (9, STOP)], 0.6, False, True, id="stopped beyond"),
        pytest.param([(0.6, PASS), (9, DOUBT)], 0.6, False, True, id="in doubt beyond"),
        pytest.param(
            [(0.5, PASS), (0.6, DOUBT), (9, STOP)], 0.5, False, True, id="in doubt, then stopped"
        ),
        pytest.param([(9, DOUBT)], 0.7, True, True, id="all in doubt"),
        pytest.param([(0.6, DOUBT), (9, STOP)], 0.6, True, True, id="in doubt at best"),
        pytest.param([(9, STOP)], None, False, True, id="all stopped"),
        pytest.param(
            [(0.45, DOUBT), (0.6, PASS), (9, STOP)], 0.6, False, True, id="short draws in doubt"
        ),
    ],
)
def test_ease(ends, draw, doubtful, told):
    found, in_doubt, said = search_by_verdict(steps(*ends), 0.7, 0.3)
    assert found == (None if draw is None else pytest.approx(draw, abs=2 * TOLERANCE))
    assert in_doubt == doubtful
    assert (said is not None) == told
    # What is told of it may be rounded up by the tolerance.
    assert draw in (None, 0.7) or found + TOLERANCE <= draw


KEY = ("core", "launch-load")


def figures(draw):
    """A limit of 2 that stops, and one of 1 that cautions, with a kink at 0.6 m."""
    figure = 10 * (draw - 0.3) + 20 * max(0.0, draw - 0.6)
    if figure > 2:
        return Told({KEY: figure}, {KEY: 2.0})
    return Told({KEY: figure} if figure > 1 else {}, {KEY: 1.0} if figure > 1 else {})


def test_figures_lead_to_the_limit():
    draws = []

    def ask(draw):
        draws.append(draw)
        return (STOP if draw > 0.5 else CAUTION if draw > 0.4 else PASS), figures(draw)

    found, in_doubt, _ = search_by_verdict(ask, 0.7, 0.2, lambda told: told)
    assert (found, in_doubt) == (pytest.approx(0.5 - TOLERANCE, abs=TOLERANCE), False)
    assert len(draws) <= 6


def test_figures_that_mislead_cost_no_draw():
    """The figure jumps where the verdict changes: what is told points below the shortest draw."""

    def ask(draw):
        told = Told({KEY: 3.0 + draw / 100}, {KEY: 2.0})
        return (STOP, told) if draw > 0.5 else (PASS, Told({}, {}))

    found, _, _ = search_by_verdict(ask, 0.7, 0.2, lambda told: told)
    assert found == pytest.approx(0.5 - TOLERANCE, abs=TOLERANCE)
