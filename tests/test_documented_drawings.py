"""Drawings on the pages are what the service draws for the calls above them."""

from __future__ import annotations

import re

import pytest

from documented_drawings import ROOT, shown
from drawmark.web.wire.accept import DRAWN
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


def test_table_of_types_is_what_operations_offer():
    text = (ROOT / "service" / "docs" / "calling.md").read_text(encoding="utf-8")
    head, *rows = re.findall(r"^\| (.*?)\|$", text.partition("\n## Drawings, papers")[2], re.M)[:9]
    kinds = re.findall("`([^`]+)`", head)
    told = {}
    for row in rows[1:]:
        name, *cells = (cell.strip() for cell in row.split("|"))
        offered = tuple(kind for kind, cell in zip(kinds, cells, strict=True) if cell)
        told[name.strip("`").removeprefix("/v1/")] = offered
    assert told == DRAWN
