"""Drawings that the pages show: each is the service's own, of the call above it.

`python -m documented_drawings`, in this folder, draws them anew.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from drawmark.web import create_app
from drawmark.web.wire.accept import SVG
from drawmark.web.wire.installed_rules import core_rules

ROOT = Path(__file__).parents[1]
PAGES = (ROOT / "README.md", *sorted((ROOT / "service" / "docs").glob("*.md")))
_SHOWN = re.compile(r"^```sh\n(curl .*?)^```$|^!\[([^]]*)\]\(([^)]+\.svg)\)$", re.DOTALL | re.M)


@dataclass(frozen=True)
class Shown:
    """A drawing on a page: its words, its file, and the call above it."""

    page: str
    words: str
    file: Path
    call: str

    def draw(self) -> bytes:
        """Ask the service for it."""
        words = shlex.split(self.call)
        path = re.sub(r"^http://127\.0\.0\.1:8080", "", words[2])
        body = words[words.index("-d") + 1]
        client = create_app(rules=core_rules()).test_client()
        reply = client.post(
            path, data=body, content_type="application/json", headers={"Accept": SVG}
        )
        assert reply.content_type == f"{SVG}; charset=utf-8", reply.text
        return reply.data


def shown() -> Iterator[Shown]:
    """Find every drawing that a page shows."""
    for page in PAGES:
        call = None
        for found in _SHOWN.finditer(page.read_text(encoding="utf-8")):
            if found[1] is not None:
                call = found[1]
            else:
                assert call is not None, page
                file = (page.parent / found[3]).resolve()
                yield Shown(page.name, found[2], file, call)


if __name__ == "__main__":
    for one in shown():
        one.file.parent.mkdir(exist_ok=True)
        one.file.write_bytes(one.draw())
