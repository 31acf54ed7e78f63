"""The table of POST operations and their views."""

from __future__ import annotations

from typing import Final

import msgspec
from flask import Blueprint, Response, request
from werkzeug.exceptions import HTTPException

from drawmark.answers import (
    balance,
    fit_check,
    longest_draw,
    minimum_length,
    recommended_length,
    spine,
)
from drawmark.web.batch import check_batch
from drawmark.web.operation import Operation, Rules
from drawmark.web.problems import ProblemError

BATCH_PATH: Final = "fit-check/batch"
_MODULES: Final = (
    ("minimum-length", minimum_length, "MinimumLengthRequest", True, False),
    ("recommended-length", recommended_length, "RecommendedLengthRequest", True, False),
    ("longest-draw", longest_draw, "LongestDrawRequest", True, False),
    ("spine", spine, "SpineRequest", False, False),
    ("balance", balance, "BalanceRequest", False, False),
    ("fit-check", fit_check, "FitCheckRequest", True, True),
)


def operations_of(rules: Rules) -> tuple[Operation, ...]:
    """Give the operations of a service."""
    return tuple(
        Operation(
            path=path,
            module=module,
            name=name,
            rules=rules,
            uses_rules=uses_rules,
            has_detail=has_detail,
        )
        for path, module, name, uses_rules, has_detail in _MODULES
    )


def batch_item(rules: Rules) -> Operation:
    """Give the fit check of one item of a batch."""
    return Operation(
        path=BATCH_PATH,
        module=fit_check,
        name="FitCheckItem",
        rules=rules,
        has_detail=True,
        with_id=True,
        detail="verdict",
    )


def read_body() -> bytes:
    """Read the body of a JSON request; ProblemError where it cannot be read."""
    if request.mimetype != "application/json":
        raise ProblemError(415, "The body must be application/json.")
    try:
        return request.get_data(cache=False)
    except HTTPException as error:
        if error.code == 413:
            raise
        raise ProblemError(400, "The body ended before it was whole.") from error
    except Exception as error:
        # The server raises errors of its own for malformed chunks.
        raise ProblemError(400, "The body cannot be read.") from error


def blueprint(rules: Rules) -> Blueprint:
    """Register every operation."""
    blue = Blueprint("calculations", __name__, url_prefix="/v1")
    for operation in operations_of(rules):
        blue.add_url_rule(
            f"/{operation.path}",
            operation.path,
            _view(operation),
            methods=["POST"],
            provide_automatic_options=False,
        )
    item = batch_item(rules)

    def batch() -> Response:
        return Response(check_batch(read_body(), item), mimetype="application/json")

    blue.add_url_rule(
        f"/{BATCH_PATH}", BATCH_PATH, batch, methods=["POST"], provide_automatic_options=False
    )
    return blue


def _view(operation: Operation):  # type: ignore[no-untyped-def]
    encode = msgspec.json.Encoder().encode

    def view() -> Response:
        return Response(encode(operation.calculate(read_body())), mimetype="application/json")

    return view
