"""What a batch answers, and what a problem is: the answers that no operation declares."""

from __future__ import annotations

from typing import Annotated, NotRequired, TypedDict

from drawmark.answers.common.answer_types import NotTold, PlaceInRequest
from drawmark.answers.common.common_response import Cautions, EngineUsed
from drawmark.answers.fit_check import FitCheckAnswer
from drawmark.web.wire.catalogue_entries import Readiness


class Fault(TypedDict):
    """One fault of a request."""

    pointer: Annotated[str, "JSON pointer to the fault, as a URI fragment."]
    detail: Annotated[str, "What is wrong."]


class Problem(TypedDict):
    "What went wrong, in the form of RFC 9457."

    type: Annotated[str, "Path of a page that explains problems of this status."]
    title: Annotated[str, "Phrase of the HTTP status."]
    status: Annotated[int, "HTTP status."]
    detail: Annotated[str, "What is wrong."]
    errors: NotRequired[Annotated[list[Fault], "Each fault of the request."]]
    state: NotRequired[Annotated[Readiness, "State of the service, if that is the problem."]]


class BatchItem(TypedDict):
    """The result or the problem of one fit check."""

    index: PlaceInRequest
    status: Annotated[int, "HTTP status that this item would have had alone."]
    id: NotRequired[Annotated[str, "`id` of the item."]]
    result: NotRequired[Annotated[FitCheckAnswer, "Answer to the item."]]
    problem: NotRequired[Annotated[Problem, "Problem of the item, in place of an answer."]]


class BatchAnswer(TypedDict):
    "A result or a problem for each fit check, and what holds for all of them."

    items: Annotated[list[BatchItem], "One entry for each item of the request, in order."]
    not_told: NotTold
    cautions: Cautions
    engine: EngineUsed
