"""The coach's bench: a page that asks the public API, and nothing else."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files
from typing import Final

from flask import Blueprint, Response, abort, render_template_string, request

from drawmark.web.wire.accept import HTML, SVG, choose_type

_FOLDER: Final = files("drawmark.web.bench") / "files"
_FILES: Final = {
    "/bench.css": "text/css",
    "/bench.svg": SVG,
    "/bench.js": "text/javascript",
    "/club.js": "text/javascript",
    "/fields.js": "text/javascript",
    "/rack.js": "text/javascript",
    "/service.js": "text/javascript",
}
PATHS: Final = frozenset(("/", *_FILES))
"""They need no token: they tell nothing of the club, and a browser sends none."""


def blueprint() -> Blueprint:
    """Register the page and its files."""
    blue = Blueprint("bench", __name__)

    def bench() -> Response:
        # To a caller that asks for no page, nothing is here.
        if choose_type(request.headers.get("Accept", ""), (HTML,)) != HTML:
            abort(404)
        page, policy = _page()
        return Response(page, mimetype=HTML, headers={"Content-Security-Policy": policy})

    def file() -> Response:
        path = request.path
        return Response(_read(path.removeprefix("/")), mimetype=_FILES[path])

    for path, view in {"/": bench, **dict.fromkeys(_FILES, file)}.items():
        name = path.replace(".", "-")
        blue.add_url_rule(path, name, view, methods=["GET"], provide_automatic_options=False)
    return blue


@cache
def _read(name: str) -> str:
    return (_FOLDER / name).read_text("utf-8")


@cache
def _page() -> tuple[str, str]:
    """Fill in the page, and say what a browser lets it do."""
    # A worker whose page nobody opens does not pay for what drawing takes.
    from drawmark.web.drawings.pictures import PICTURES
    from drawmark.web.drawings.verdicts import SIGNS, WORDS

    page = render_template_string(_read("bench.html"), words=WORDS, signs=SIGNS)
    # Drawings stand on the page, and papers open from it, each with a style of its own.
    policies = " ".join(one.policy for kinds in PICTURES.values() for one in kinds.values())
    styles = sorted(set(re.findall("'sha256-[^']+'", policies)))
    policy = (
        f"default-src 'none'; script-src 'self'; style-src 'self' {' '.join(styles)}; "
        "connect-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )
    return page, policy
