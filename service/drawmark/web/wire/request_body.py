"""Reads the body of a request and its JSON."""

from __future__ import annotations

import json
from typing import Any, Final

import msgspec
from flask import Request
from flask.globals import request_ctx
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge

from drawmark.web.wire.accept import JSON
from drawmark.web.wire.problems import ProblemError

CUT_OFF: Final = "The body ended before it was whole."
TOO_DEEP: Final = "The body is nested too deeply."
_HALF: Final = "The body holds half a character: a surrogate without its other half."
_DIGITS: Final = 18
AT_ONCE: Final = 64 * 1024
"""Up to this a body is read in one go [byte]."""


class NotJsonError(ProblemError):
    """A body that is no JSON."""

    def __init__(self, fault: str) -> None:
        super().__init__(400, f"The body is not JSON: {fault}")


def read_body(most: int, *others: str) -> bytes:
    """Read the body of a JSON request; ProblemError where it cannot be read.

    Parameters
    ----------
    most : int
        Largest body that is taken, which the application is set to as well [byte].
    others : str
        Media types that are read elsewhere, to be named beside JSON.

    Returns
    -------
    bytes
        The body.
    """
    # The proxy costs a microsecond each time it is asked; this is asked of every request.
    asked = request_ctx.request
    # Most callers say it in just these words; the rest is left to the framework's parser.
    if asked.environ.get("CONTENT_TYPE") != JSON and asked.mimetype != JSON:
        types = " or ".join((JSON, *others))
        sent = asked.mimetype[:100] or "sent without Content-Type"
        raise ProblemError(415, f"The body must be {types}; it is {sent}.")
    refuse_coding(asked)
    announced = asked.content_length
    at_once = announced is not None and announced <= min(most, AT_ONCE)
    try:
        # The framework's stream, which bounds and joins blocks, costs a tenth of a fit check.
        body = asked.environ["wsgi.input"].read(announced) if at_once else asked.get_data(False)
    except Exception as error:
        raise reading_fault(error) from error
    if announced is None:
        # Of a body in chunks the framework stops reading at the limit, and says nothing.
        if len(body) >= most:
            raise RequestEntityTooLarge
    elif len(body) < announced:
        raise ProblemError(400, CUT_OFF)
    return body


def reading_fault(error: Exception) -> Exception:
    """Give what is told of a body that cannot be read."""
    if isinstance(error, HTTPException):
        return RequestEntityTooLarge() if error.code == 413 else ProblemError(400, CUT_OFF)
    # The server raises errors of its own for malformed chunks, and for a wire that is still.
    return ProblemError(400, "The body cannot be read.")


def refuse_coding(asked: Request) -> None:
    """Refuse a body that comes in a content coding."""
    if asked.environ.get("HTTP_CONTENT_ENCODING", "").lower() not in ("", "identity"):
        detail = "The body must be sent as it is, without Content-Encoding."
        raise ProblemError(415, detail, headers=[("Accept-Encoding", "identity")])


def decode(body: bytes) -> Any:
    """Decode JSON without a type; ProblemError where it is none."""
    if not body:
        raise NotJsonError("it is empty.")
    try:
        return msgspec.json.decode(body)
    except RecursionError as error:
        raise ProblemError(400, TOO_DEEP) from error
    except (msgspec.DecodeError, ValueError) as error:
        return _decode_any(body, str(error)[:200])


def _decode_any(body: bytes, fault: str) -> Any:
    """Decode numbers of any size too, which the fast decoder takes for faults."""
    try:
        value = DECODER.decode(body.decode())
        # JSON can spell half of a character; no text that is sent can hold it.
        msgspec.json.encode(value)
    except RecursionError as error:
        raise ProblemError(400, TOO_DEEP) from error
    except UnicodeEncodeError as error:
        raise ProblemError(400, _HALF) from error
    except ValueError as error:
        raise NotJsonError(fault) from error
    return value


def _read_whole(digits: str) -> int | float:
    return int(digits) if len(digits) < _DIGITS else float(digits)


def _refuse(name: str) -> None:
    raise json.JSONDecodeError(f"{name} is no number", name, 0)


DECODER: Final = json.JSONDecoder(parse_int=_read_whole, parse_constant=_refuse)
"""Takes a number of any size, where it is too large as infinite."""
