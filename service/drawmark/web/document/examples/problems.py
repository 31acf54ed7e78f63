"""A request that is refused, and the problem that says why."""

from __future__ import annotations

from typing import Any, Final

from drawmark.web.document.examples import ARROW, EXAMPLES, q

REFUSED: Final[dict[str, Any]] = {
    **EXAMPLES["fit-check"],
    "arrow": {**ARROW, "length": q(28.5, "gr")},
}
"""A fit check of an arrow whose length has a unit of mass."""
MISFIT: Final[dict[str, Any]] = {
    "type": "/problems/422",
    "title": "Unprocessable Content",
    "status": 422,
    "detail": "The request does not fit its schema.",
    "errors": [
        {
            "pointer": "#/arrow/length/unit",
            "detail": "must be one of mm, cm, m, in, ft (gr measures mass)",
        }
    ],
}
