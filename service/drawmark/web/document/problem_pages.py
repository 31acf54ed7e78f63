"""A page for each type of problem: what it means, and what to do next."""

from __future__ import annotations

from html import escape
from typing import Final

from drawmark.web.document.pages import STYLE, worded
from drawmark.web.wire.problems import TITLES, type_of

_EXPLAINED: Final = {
    400: (
        "The body could not be read as one JSON object. It is cut off, nested too deeply, repeats "
        "a name, or is not JSON.",
        "Send the whole body as JSON. `detail` says where reading ended.",
    ),
    401: (
        "The service asks for a token. None was sent, or it does not know this one.",
        "Send `Authorization: Bearer TOKEN`. Ask whoever runs the service for a token.",
    ),
    403: (
        "The service knows the token, but the token is not for this path. Figures of the whole "
        "service are for whoever maintains it, and calculations for a club's token.",
        "Use a token that is for this path. Ask whoever runs the service for one.",
    ),
    404: ("There is nothing at this path.", "See `/docs` for all paths. None ends with a slash."),
    405: (
        "The path exists, but does not take this method.",
        "Use a method that the header `Allow` names. Calculations take POST, lists take GET.",
    ),
    411: (
        "The request does not say how long its body is.",
        "Send `Content-Length`, or send the body in chunks.",
    ),
    413: (
        "The body is longer than this operation takes.",
        "Send less at once. `/docs` says how much each operation takes. A batch may be sent in "
        "lines.",
    ),
    415: (
        "The body is not of a type that this operation takes, or it is compressed.",
        "Send `Content-Type: application/json`, uncompressed.",
    ),
    421: (
        "The request names a host that is not this service's. Without tokens the service answers "
        "only to an address, or to a name without dots, so that no web page can ask it in secret.",
        "Ask by address, such as `http://127.0.0.1:8080`. Whoever runs the service can ask for "
        "tokens, or set `DRAWMARK_ALLOW_OPEN=1`: then any name will do.",
    ),
    422: (
        "The body is JSON, but does not fit. A field is missing, unknown, out of range, or "
        "contradicts another. Nothing was checked.",
        "Each entry of `errors` points at a field and says what is wrong with it. Mend those "
        "fields, then ask again.",
    ),
    429: (
        "This caller asks too often, or has too much under way at once.",
        "Wait as many seconds as `Retry-After` says, then ask again.",
    ),
    500: (
        "The service failed. Nothing was checked, so nothing may be taken as safe.",
        "Tell whoever runs the service, with the `X-Request-ID` of the answer. The log says why.",
    ),
    501: (
        "The service does not take a body that is sent in this way.",
        "Send the body with `Content-Length`, or in chunks.",
    ),
    503: (
        "The service cannot answer now. Too much is calculated at once, it took too long, a plugin "
        "that the club requires is missing, or the club's configuration has faults. Nothing was "
        "checked.",
        "Wait as many seconds as `Retry-After` says, then ask again. Send less at once. If it is "
        "the configuration, tell whoever runs the service.",
    ),
}
PAGES: Final = {type_of(status): status for status in TITLES}
"""By path, the status that a page explains. They need no token: a browser sends none."""


def problem_page(status: int) -> str:
    """Write the page of a type of problem."""
    title = escape(f"{status} {TITLES[status]}")
    meaning, advice = map(worded, _EXPLAINED[status])
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        f"<title>{title}</title>"
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<style>{STYLE}</style></head><body><main><h1>{title}</h1>"
        f"<p>{meaning}</p><p>{advice}</p></main></body></html>\n"
    )
