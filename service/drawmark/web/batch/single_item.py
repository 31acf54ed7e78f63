"""Answers one item of a batch as a single check would be, or words why not."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import Any, Final

import msgspec

from drawmark.web.batch.definition import LONGEST_LINE, MOST_WORDED
from drawmark.web.metrics import metrics_of_process
from drawmark.web.wire.operation import LONGEST_ID, Operation
from drawmark.web.wire.problems import ProblemError, problem

_UNWORDED: Final = (
    "Too many items were refused to explain them all. Send this one alone to see why."
)
_TOO_LONG: Final = f"The line was skipped: it is longer than {LONGEST_LINE} bytes."
log = logging.getLogger("drawmark")
_encode: Final = msgspec.json.Encoder().encode


class _Id(msgspec.Struct):
    id: str = ""


_decode_id: Final = msgspec.json.Decoder(_Id).decode


@dataclass(slots=True)
class Progress:
    """How many items of a batch have been answered, and how many with a problem."""

    items: int = 0
    problems: int = 0


def entry_of(index: Any, name: Any, status: int, **content: Any) -> dict[str, Any]:
    """Give the entry of an item: its place in the batch, its id if it has one, and its answer."""
    return {"index": index, **({"id": name} if name else {}), "status": status, **content}


def answer_item(
    text: bytes | None, operation: Operation, progress: Progress, index: int, refused: bool
) -> bytes:
    """Give the entry of one item; if it is known to be refused, only the words are missing."""
    if text is None:
        progress.problems += 1
        return _encode(entry_of(index, None, 413, problem=problem(413, _TOO_LONG)))
    name, status = _identify(text)
    # Wording every one of many refusals would cost more than all the rest.
    if not (refused and progress.problems >= MOST_WORDED):
        try:
            result = operation.calculate(text)
            answered = _encode(entry_of(index, name, 200, result=result))
            metrics_of_process().count_verdicts({result["verdict"]: 1})
            return answered
        except ProblemError as error:
            status, worded = error.status, error.document()
        except Exception:
            log.exception("an item of a batch failed")
            status, worded = 500, problem(500, "The service failed on this item.")
    if progress.problems >= MOST_WORDED:
        worded = problem(status, _UNWORDED)
    progress.problems += 1
    return _encode(entry_of(index, name, status, problem=worded))


def _identify(text: bytes) -> tuple[str, int]:
    """Give the id of an item, and the status that fits it if it is refused."""
    try:
        name = _decode_id(text).id
    except (msgspec.ValidationError, RecursionError):
        return "", 422
    except msgspec.DecodeError:
        return "", 400
    return (name if len(name) <= LONGEST_ID else ""), 422
