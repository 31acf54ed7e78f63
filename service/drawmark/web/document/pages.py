"""The document as one page of HTML: self-contained, nothing loaded from elsewhere."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from collections.abc import Iterable, Iterator
from importlib.resources import files
from typing import Any, Final

from drawmark.web.document.members import Member, dimension_of, is_quantity, members_of
from drawmark.web.document.paths import OTHER_TYPES
from drawmark.web.wire.accept import JSON

_WIDTH: Final = 76
_TEXTS: Final = ("summary", "description")
STYLE: Final = """
:root{color-scheme:light dark}
body{font:1rem/1.5 sans-serif;max-width:62rem;margin:2rem auto;padding:0 1rem;
 overflow-wrap:break-word}
h2{margin-top:3rem;border-top:1px solid #8886;padding-top:1rem}
code,pre{font:.875em/1.45 monospace}
button,input{font:inherit;margin:.4rem 0;padding:.3rem .8rem}
pre{background:#8882;padding:.6rem;white-space:pre-wrap;overflow-wrap:anywhere}
li{margin:.2rem 0}
summary{cursor:pointer;margin:.5rem 0;font-weight:bold}
table{border-collapse:collapse;width:100%;font-size:.9rem}
td,th{text-align:left;vertical-align:top;padding:.2rem .8rem .2rem 0;
 border-bottom:1px solid #8883}
.m td:first-child{padding-left:calc(var(--d)*1.1rem);white-space:nowrap}
.m td:nth-child(2){width:7rem}
.m td:nth-child(3){width:9rem}
.m td:nth-child(4){width:50%}
small{opacity:.7}
@media(max-width:45rem){
.m thead{display:none}
.m tr{display:block;padding:.3rem 0 .3rem calc(var(--d)*1rem);border-bottom:1px solid #8883}
.m td{display:inline;border:0;padding:0 .4rem 0 0}
.m td:first-child{padding-left:0;white-space:normal}
.m td:nth-child(2){font-style:italic}
.m td:nth-child(3):not(:empty)::before{content:"needed "}
.m.a td:nth-child(3):not(:empty)::before{content:"given "}
.m td:last-child{display:block;width:auto}}
""" + "".join(f".d{depth}{{--d:{depth}}}" for depth in range(10))
_SCRIPT: Final = (files("drawmark.web.document") / "try_it.js").read_text("utf-8")
_STYLE_DIGEST, _SCRIPT_DIGEST = (
    base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in (STYLE, _SCRIPT)
)
POLICY: Final = (
    f"default-src 'none'; style-src 'sha256-{_STYLE_DIGEST}'; "
    f"script-src 'sha256-{_SCRIPT_DIGEST}'; connect-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
"""What a browser lets the page do: show its own style, and send its examples to the service."""


def page_of(document: dict[str, Any]) -> str:
    """Write a page of the operations of a document: what they take, answer and refuse."""
    info, components = document["info"], document["components"]
    title = html.escape(f"{info['title']} {info['version']}")
    parts = [
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title>',
        '<meta name="viewport" content="width=device-width,initial-scale=1">',
        f"<style>{STYLE}</style></head><body><h1>{title}</h1>",
        f"<p>{worded(info['description'])}</p>",
        '<p>All of it, for machines: <a href="openapi.json">openapi.json</a></p>',
    ]
    operations = [
        (path, method, operation)
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
    ]
    parts += ["<ul>", *(_entry(*one) for one in operations), "</ul>", *_common(components)]
    for one in operations:
        parts.extend(_operation(*one, components))
    return "\n".join([*parts, f'<script type="module">{_SCRIPT}</script></body></html>', ""])


def worded(text: str) -> str:
    """Write words of the document, where what stands between backticks is code."""
    return re.sub("`([^`]+)`", r"<code>\1</code>", html.escape(text))


def written(value: Any, indent: str = "") -> str:
    """Write JSON, on one line where it fits."""
    line = json.dumps(value, ensure_ascii=False)
    if not isinstance(value, dict | list) or not value or len(indent + line) <= _WIDTH:
        return line
    deeper = indent + "  "
    if isinstance(value, dict):
        inner = [f"{json.dumps(name)}: {written(one, deeper)}" for name, one in value.items()]
    else:
        inner = [written(one, deeper) for one in value]
    opened, closed = "{}" if isinstance(value, dict) else "[]"
    return f"{opened}\n{deeper}" + f",\n{deeper}".join(inner) + f"\n{indent}{closed}"


def _entry(path: str, method: str, operation: dict[str, Any]) -> str:
    name, text = html.escape(operation["operationId"]), html.escape(operation["summary"])
    shown = f"{method.upper()} {html.escape(path)}"
    return f'<li><a href="#{name}"><code>{shown}</code></a> {text}</li>'


def _common(components: dict[str, Any]) -> Iterator[str]:
    """Write what all operations share: units and headers."""
    yield "<p>A quantity is a figure with its unit, <code>"
    yield f"{html.escape(json.dumps({'value': 28.5, 'unit': 'in'}))}</code>. "
    yield "Below, a quantity is named by what it measures. Units:</p>"
    yield from _table(
        (dimension_of(name), schema["properties"]["unit"]["description"].partition(": ")[2])
        for name, schema in components["schemas"].items()
        if is_quantity(schema)
    )
    yield "<p>Headers of every request, all of them optional:</p>"
    yield from _table(
        (one["name"], one["description"]) for one in components["parameters"].values()
    )


def _table(rows: Iterable[tuple[str, str]]) -> Iterator[str]:
    yield "<table>"
    for name, text in rows:
        yield f"<tr><th>{html.escape(name)}</th><td>{worded(text)}</td></tr>"
    yield "</table>"


def _operation(
    path: str, method: str, operation: dict[str, Any], components: dict[str, Any]
) -> Iterator[str]:
    name, schemas = html.escape(operation["operationId"]), components["schemas"]
    yield f'<h2 id="{name}"><code>{method.upper()} {html.escape(path)}</code></h2>'
    yield from (f"<p>{worded(operation[one])}</p>" for one in _TEXTS if one in operation)
    answer = operation["responses"]["200"]["content"]
    if "requestBody" in operation:
        request = operation["requestBody"]["content"]
        yield from _members("Request", "m", "Needed", members_of(request[JSON]["schema"], schemas))
        more = operation["requestBody"].get(OTHER_TYPES, {})
        yield from _examples("Example of a request", request, " open", path.removeprefix("/"))
        yield from _examples("Example of a request", more, " open")
    if JSON in answer:
        yield from _members("Answer", "m a", "Given", members_of(answer[JSON]["schema"], schemas))
    yield from _examples("Example of the answer", answer)
    yield from _folded("Problems", _table(_problems(operation["responses"], components)))


def _folded(summary: str, inner: Iterable[str], state: str = "") -> Iterator[str]:
    yield f"<details{state}><summary>{summary}</summary>"
    yield from inner
    yield "</details>"


def _examples(
    summary: str, content: dict[str, Any], state: str = "", path: str = ""
) -> Iterator[str]:
    """Write examples; those with a path can be tried."""
    tried = f' data-path="{html.escape(path)}"' if path else ""
    for media_type, shown in content.items():
        if "example" in shown:
            example = shown["example"]
            text = example if isinstance(example, str) else written(example)
            title = f"{summary}, <code>{html.escape(media_type)}</code>"
            yield from _folded(title, [f"<pre{tried}>{html.escape(text)}</pre>"], state)


def _members(summary: str, kind: str, needed: str, members: Iterable[Member]) -> Iterator[str]:
    rows = [_row(one) for one in members]
    if rows:
        heads = "".join(f"<th>{head}</th>" for head in ("Member", "Kind", needed, "Meaning"))
        head = f'<table class="{kind}"><thead><tr>{heads}</tr></thead>'
        yield from _folded(summary, [head, *rows, "</table>"])


def _row(one: Member) -> str:
    limits = f" <small>{worded(one.limits)}</small>" if one.limits else ""
    return (
        f'<tr class="d{one.depth}"><td><code>{html.escape(one.name)}</code></td>'
        f"<td>{html.escape(one.kind)}</td><td>{html.escape(one.needed)}</td>"
        f"<td>{worded(one.meaning)}{limits}</td></tr>"
    )


def _problems(answers: dict[str, Any], components: dict[str, Any]) -> Iterator[tuple[str, str]]:
    usual = answers["200"]["headers"]
    for status, answer in sorted(answers.items()):
        if status != "200":
            if "$ref" in answer:
                answer = components["responses"][answer["$ref"].rpartition("/")[2]]
            more = [f"`{name}`" for name in answer["headers"] if name not in usual]
            said = f" Header: {', '.join(more)}." if more else ""
            yield status, answer["description"] + said
