"""Reads the body of a request and its JSON."""

from __future__ import annotations

import math
from typing import Any, Final

import msgspec
from flask import request
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge

from drawmark.web.problems import ProblemError

_CUT_OFF: Final = "The body ended before it was whole."


def read_body(*others: str) -> bytes:
    """Read the body of a JSON request; ProblemError where it cannot be read.

    Parameters
    ----------
    *others : str
        Media types that are read elsewhere, to be named beside JSON.

    Returns
    -------
    bytes
        The body.
    """
    if request.mimetype != "application/json":
        types = " or ".join(("application/json", *others))
        raise ProblemError(415, f"The body must be {types}.")
    try:
        body = request.get_data(cache=False)
    except HTTPException as error:
        if error.code == 413:
            raise
        raise ProblemError(400, _CUT_OFF) from error
    except Exception as error:
        # The server raises errors of its own for malformed chunks.
        raise ProblemError(400, "The body cannot be read.") from error
    announced = request.content_length
    if announced is None:
        # Of a body in chunks the framework stops reading at the limit, and says nothing.
        if len(body) >= (request.max_content_length or math.inf):
            raise RequestEntityTooLarge
    elif len(body) < announced:
        raise ProblemError(400, _CUT_OFF)
    return body


def decode(body: bytes) -> Any:
    """Decode JSON without a type; ProblemError where it is none."""
    try:
        return msgspec.json.decode(body)
    except RecursionError as error:
        raise ProblemError(400, "The body is nested too deeply.") from error
    except (msgspec.DecodeError, ValueError) as error:
        raise ProblemError(400, f"The body is not JSON: {str(error)[:200]}") from error
