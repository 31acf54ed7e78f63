"""Drawings on the pages are what the service draws for the calls above them."""

from __future__ import annotations

import pytest

from documented_drawings import ROOT, shown
from web.drawings.pictures import Picture

SHOWN = list(shown())


@pytest.mark.parametrize("one", SHOWN, ids=[one.file.name for one in SHOWN])
def test_drawing_is_the_services_own(one):
    # Where this fails, a drawing changed: `python -m documented_drawings` in tests/ keeps new ones.
    drawn = one.draw()
    assert one.file.read_bytes() == drawn
    assert Picture(drawn).title == one.words


def test_every_drawing_that_is_kept_is_shown():
    kept = set((ROOT / "service" / "docs" / "drawings").iterdir())
    assert kept == {one.file for one in SHOWN}
    assert len(kept) == 4
