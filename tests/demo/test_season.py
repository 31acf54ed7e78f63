"""The season of the demo: every step is answered by a real service, within two screens."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

from drawmark.demo.season import STEPS

SCREEN = 24
TITLES = [step.title for step in STEPS]

# Worked out by hand where a figure stands.
EXPECTED = [
    # 153 days to 13 years, boys' 97th centile: 12.58 to 13 at (9.61 + 11.25) / 2 over 2.5: 0.688 in
    ("Ruben's draw", ("caution", "25.688 in", "Measure it again")),
    # Half a year from 13: 5.79 cm of height, 0.911 in of draw: 24.5 + 0.911, an inch more
    ("Measured again", ("25.412 in", "26.412 in", "Have longer arrows by month 9")),
    # 28 + 1.5 for a practised archer
    ("A dozen for Ruben", ("fen 1000  12     uncut", "fen 650   12     29.5 in")),
    # 28.5 - 1
    ("Ingrid's arrows have come", ("shorter draw", "for a draw of 27.5 in")),
    ("two details", ("Runa gets 4 arrows", "shares the set with Sif")),
    # D = 25.75: the tip at 28 + 0.7 - 25.75 = 2.95, half an inch nearer after the cut
    ("Marisol cuts", ("2.95 in to 2.45 in", "26.687 in", "land higher")),
    ("grains per pound", ("260 gr", "a point of 64.2 gr")),
    # A quarter of an inch of 6.4 gr/in and the point less 95 gr make the difference of mass.
    ("sold out", ("moor 600  29.75 in  135.32 gr  41.92 gr", "29.75 in  52.05 gr   -41.35 gr")),
    # Within 1/16 in and 5 gr
    ("box of odd arrows", ("1, 2, 5 make a set", "3, 4, 6 make a set", "In no set: 7, 8")),
]


@pytest.fixture(scope="module")
def shown():
    done = subprocess.run(
        [sys.executable, "-m", "drawmark.cli", "demo", "--season"],
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def step_of(shown, title):
    following = [*TITLES[TITLES.index(title) + 1 :], "Before anyone shoots:"]
    return shown.partition(title)[2].partition(following[0])[0]


def test_every_step_is_expected():
    assert len(EXPECTED) == len(STEPS)
    assert all(part in title for (part, _), title in zip(EXPECTED, TITLES, strict=True))


@pytest.mark.parametrize("place", range(len(EXPECTED)))
def test_a_step(shown, place):
    step = step_of(shown, TITLES[place])
    assert 1 < step.count("\n") <= 2 * SCREEN
    assert max(map(len, step.splitlines())) <= 88
    words = " ".join(step.split())
    for one in EXPECTED[place][1]:
        assert " ".join(one.split()) in words


def test_cautions_stand_at_the_end(shown):
    _, found, cautions = shown.partition("Before anyone shoots:")
    assert found
    assert re.search("A cut cannot be undone", cautions)


def test_one_of_evening_and_season():
    done = subprocess.run(
        [sys.executable, "-m", "drawmark.cli", "demo", "--season", "--evening"],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 2
