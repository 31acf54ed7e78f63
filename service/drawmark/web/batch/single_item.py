"""Answers one item of a batch as a single check would be, or words why not."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import Any, Final

import msgspec

from drawmark.web.batch.batch_schema import MOST_WORDED
from drawmark.web.batch.lines import LONGEST_LINE
from drawmark.web.metrics import metrics_of_process
from drawmark.web.wire.operation import LONGEST_ID, Operation
from drawmark.web.wire.problems import ProblemError, problem

_UNWORDED: Final = "One of many: send this item alone to read why."
_TOO_LONG: Final = f"A line may have {LONGEST_LINE} bytes: this one was passed over."
log = logging.getLogger("drawmark")
_encode: Final = msgspec.json.Encoder().encode


class _Id(msgspec.Struct):
    id: str = ""


@dataclass(slots=True)
class Tally:
    """How many items of a batch were answered so far, and how many of them with a problem."""

    items: int = 0
    problems: int = 0


def answer_alone(
    text: bytes | None, operation: Operation, tally: Tally, index: int, refused: bool
) -> bytes:
    """Answer one item.

    Parameters
    ----------
    text : bytes or None
        Its JSON; None where it is too long to be read.
    operation : Operation
        The fit check of one item.
    tally : Tally
        Problems so far; another is counted on.
    index : int
        Its place in the batch.
    refused : bool
        It is known that it cannot be answered, and only the words are missing.

    Returns
    -------
    bytes
        The entry of the item.
    """
    entry: dict[str, Any] = {"index": index}
    if text is None:
        tally.problems += 1
        return _encode({**entry, "status": 413, "problem": problem(413, _TOO_LONG)})
    name, status = _look_at(text)
    if name:
        entry["id"] = name
    # To word every refusal of many costs more than all the rest.
    if not (refused and tally.problems >= MOST_WORDED):
        try:
            result = operation.calculate(text)
            answered = _encode({**entry, "status": 200, "result": result})
            metrics_of_process().count_verdicts({result["verdict"]: 1})
            return answered
        except ProblemError as error:
            status, worded = error.status, error.document()
        except Exception:
            log.exception("an item of a batch failed")
            status, worded = 500, problem(500, "The service failed on this item.")
    if tally.problems >= MOST_WORDED:
        worded = problem(status, _UNWORDED)
    tally.problems += 1
    return _encode({**entry, "status": status, "problem": worded})


def _look_at(text: bytes) -> tuple[str, int]:
    """Tell what an item is called, and the status that fits it if it is refused."""
    try:
        name = msgspec.json.decode(text, type=_Id).id
    except (msgspec.ValidationError, RecursionError):
        return "", 422
    except msgspec.DecodeError:
        return "", 400
    return (name if len(name) <= LONGEST_ID else ""), 422
