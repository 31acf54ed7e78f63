"""Reads the body of a request, and its JSON."""

from __future__ import annotations

import json
from typing import Any, Final

import msgspec
from flask import Request
from flask.globals import request_ctx
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge

from drawmark.deadline import deadline
from drawmark.web.wire.accept import JSON
from drawmark.web.wire.problems import ProblemError

BYTE_ORDER_MARK: Final = b"\xef\xbb\xbf"
"""Some callers begin with it; RFC 8259 lets a receiver skip it."""
CUT_OFF: Final = "The body ended too early. Send it again."
TOO_DEEP: Final = "The body is nested too deeply."
_SURROGATE: Final = "The body holds half a character: a surrogate without its other half."
_LONGEST_INTEGER: Final = 18
AT_ONCE: Final = 64 * 1024
"""A body up to this size may be decoded whole, though it be refused [byte]."""


class NotJsonError(ProblemError):
    """A body that is not JSON."""

    def __init__(self, fault: str) -> None:
        fault = fault.removeprefix("JSON is malformed: ")[:200]
        super().__init__(400, f"The body is not JSON: {fault}.")


def read_body(most: int, *others: str) -> bytes:
    """Read a body of at most `most` bytes; `others` are media types that are read elsewhere."""
    # Each use of flask's proxy costs a microsecond, so it is used once.
    asked = request_ctx.request
    # Most callers send exactly this; the framework's parser sees to the others.
    if asked.environ.get("CONTENT_TYPE") != JSON and asked.mimetype != JSON:
        types = " or ".join((JSON, *others))
        sent = asked.mimetype[:100] or "sent without Content-Type"
        raise ProblemError(415, f"The body must be {types}, but it is {sent}.")
    refuse_coding(asked)
    announced = asked.content_length
    if announced is not None and announced > most:
        raise RequestEntityTooLarge
    try:
        if announced is None:
            asked.max_content_length = most
            body = asked.get_data(False)
        else:
            # The framework's stream bounds and joins blocks, and costs a tenth of a fit check.
            body = asked.environ["wsgi.input"].read(announced)
    except Exception as error:
        raise reading_fault(error) from error
    deadline.restart()
    verify_length(len(body), announced, most)
    return body


def verify_length(read: int, announced: int | None, most: int) -> None:
    """Refuse a body that is longer than `most` bytes, or that ended before its announced length."""
    if announced is None:
        # The framework stops reading a chunked body at the limit without an error.
        if read >= most:
            raise RequestEntityTooLarge
    elif read < announced:
        raise ProblemError(400, CUT_OFF)


def reading_fault(error: Exception) -> Exception:
    """Turn an error while a body is read into one that can be answered."""
    if isinstance(error, HTTPException):
        return RequestEntityTooLarge() if error.code == 413 else ProblemError(400, CUT_OFF)
    # Gunicorn raises errors of its own for malformed chunks, and when nothing arrives in time.
    return ProblemError(400, "The body cannot be read. Send it again.")


def refuse_coding(asked: Request) -> None:
    """Refuse a body with a content or transfer coding, such as gzip; chunks are taken."""
    environ = asked.environ
    content = environ.get("HTTP_CONTENT_ENCODING")
    if content and content.lower() != "identity":
        detail = "Content-Encoding is not accepted. Send the body uncompressed."
        raise ProblemError(415, detail, headers=[("Accept-Encoding", "identity")])
    transfer = environ.get("HTTP_TRANSFER_ENCODING")
    if transfer and transfer.strip().lower() != "chunked":
        raise ProblemError(501, "No Transfer-Encoding but chunked is understood.")


def has_mark(body: bytes) -> bool:
    """Tell whether one byte-order mark stands before a body; more of them are not JSON."""
    return body[:3] == BYTE_ORDER_MARK != body[3:6]


def decode(body: bytes) -> Any:
    """Decode JSON without a type; ProblemError if it is not JSON."""
    if not body:
        raise NotJsonError("it is empty")
    try:
        return msgspec.json.decode(body)
    except RecursionError as error:
        raise ProblemError(400, TOO_DEEP) from error
    except (msgspec.DecodeError, ValueError) as error:
        return _decode_any(body, str(error))


def _decode_any(body: bytes, fault: str) -> Any:
    """Decode with numbers of any size, which the fast decoder refuses."""
    try:
        value = _DECODER.decode(body.decode())
        # JSON can spell a lone surrogate, which no answer could be encoded with.
        msgspec.json.encode(value)
    except RecursionError as error:
        raise ProblemError(400, TOO_DEEP) from error
    except UnicodeEncodeError as error:
        raise ProblemError(400, _SURROGATE) from error
    except ValueError as error:
        raise NotJsonError(fault) from error
    return value


def _integer(digits: str) -> int | float:
    return int(digits) if len(digits) < _LONGEST_INTEGER else float(digits)


def _refuse_constant(name: str) -> None:
    raise json.JSONDecodeError(f"{name} is not a number", name, 0)


_DECODER: Final = json.JSONDecoder(parse_int=_integer, parse_constant=_refuse_constant)
"""Takes numbers of any size; a number too large for a float becomes infinite."""
