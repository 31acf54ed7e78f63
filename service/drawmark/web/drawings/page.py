"""Templates, and what a browser lets their pages do."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup

from drawmark.web.drawings.text import figure_text, whose

_FOLDER: Final = files("drawmark.web.drawings") / "templates"
_TEMPLATES: Final = Environment(
    loader=PackageLoader("drawmark.web.drawings"),
    autoescape=select_autoescape(("svg", "html")),
    undefined=StrictUndefined,
    auto_reload=False,
    trim_blocks=True,
    lstrip_blocks=True,
)
_TEMPLATES.filters["figure"] = figure_text
_TEMPLATES.filters["whose"] = whose
# A caller's or plugin's text may hold what XML forbids, or what turns the text behind it around: a
# draw of 28 in would read as 82.
_UNWANTED: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\u202a-\u202e\u2066-\u2069\ufffe\uffff]")


@cache
def style_of(*names: str) -> Markup:
    """Read style sheets as one."""
    return Markup("".join((_FOLDER / one).read_text("utf-8") for one in names))


@cache
def policy_of(*styles: str) -> str:
    """Let a page show its own style, and nothing else."""
    digest = base64.b64encode(hashlib.sha256(style_of(*styles).encode()).digest()).decode()
    return (
        f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )


@cache
def _render(template: str) -> Any:
    return _TEMPLATES.get_template(template).render


def filled(template: str, view: Mapping[str, Any], style: Markup | None) -> str:
    """Fill in a template; every text in it is escaped. No style: it stands in another page."""
    text: str = _render(template)(view, style=style)
    return text


def written(template: str, view: Mapping[str, Any], style: Markup) -> bytes:
    """Fill in a template and encode it, without signs that would spoil it."""
    return _UNWANTED.sub("", filled(template, view, style)).encode("utf-8", "replace")
