"""The document as one page of HTML: self-contained, nothing loaded from elsewhere."""

from __future__ import annotations

import html
from collections.abc import Iterator
from typing import Any, Final

import msgspec

POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"
_STYLE: Final = (
    "body{font:1rem/1.5 sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem}"
    "pre{background:#eee;padding:.6rem;overflow:auto}td,th{text-align:left;padding:0 1rem 0 0}"
)


def page_of(document: dict[str, Any]) -> str:
    """Write a page of the operations of a document, with their examples and problems.

    Parameters
    ----------
    document : dict
        OpenAPI document.

    Returns
    -------
    str
        HTML.
    """
    info = document["info"]
    title = html.escape(f"{info['title']} {info['version']}")
    parts = [
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title>',
        f"<style>{_STYLE}</style></head><body><h1>{title}</h1>",
        f"<p>{html.escape(info['description'])}</p>",
        '<p>All of it, for machines: <a href="openapi.json">openapi.json</a></p>',
    ]
    operations = [
        (path, method, operation)
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
    ]
    parts += ["<ul>", *(_entry(*one) for one in operations), "</ul>"]
    for one in operations:
        parts.extend(_operation(*one))
    return "\n".join([*parts, "</body></html>", ""])


def _entry(path: str, method: str, operation: dict[str, Any]) -> str:
    name, text = html.escape(operation["operationId"]), html.escape(operation["summary"])
    shown = f"{method.upper()} {html.escape(path)}"
    return f'<li><a href="#{name}"><code>{shown}</code></a> {text}</li>'


def _written(example: Any) -> str:
    if isinstance(example, str):
        return example
    return msgspec.json.format(msgspec.json.encode(example), indent=2).decode()


def _operation(path: str, method: str, operation: dict[str, Any]) -> Iterator[str]:
    name = html.escape(operation["operationId"])
    yield f'<h2 id="{name}"><code>{method.upper()} {html.escape(path)}</code></h2>'
    yield f"<p>{html.escape(operation['summary'])}</p>"
    shown = operation.get("requestBody", operation["responses"]["200"])
    for media_type, content in shown["content"].items():
        if "example" in content:
            what = "Request" if "requestBody" in operation else "From the answer"
            yield f"<p>{what}, <code>{html.escape(media_type)}</code>:</p>"
            yield f"<pre>{html.escape(_written(content['example']))}</pre>"
    yield "<table>"
    for status, answer in sorted(operation["responses"].items()):
        text = html.escape(answer["description"])
        yield f"<tr><th>{html.escape(str(status))}</th><td>{text}</td></tr>"
    yield "</table>"
