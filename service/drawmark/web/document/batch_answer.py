"""What a batch answers, and what a problem is: the answers that no operation declares."""

from __future__ import annotations

from typing import Annotated, Any, NotRequired, TypedDict

from drawmark.answers.common.answer_types import NotTold, PlaceInRequest
from drawmark.answers.common.common_response import Cautions, EngineUsed
from drawmark.answers.fit_check import FitCheckAnswer


class Fault(TypedDict):
    """One fault of a request."""

    pointer: Annotated[str, "JSON pointer to it, as a fragment."]
    detail: Annotated[str, "What is wrong, in a sentence."]


class Problem(TypedDict):
    """What went wrong, as RFC 9457 words it."""

    type: Annotated[str, "`about:blank`: the title says it all."]
    title: Annotated[str, "Words of the status."]
    status: Annotated[int, "Status of HTTP."]
    detail: Annotated[str, "What is wrong, in a sentence."]
    errors: NotRequired[Annotated[list[Fault], "Each fault of the request."]]
    state: NotRequired[
        Annotated[dict[str, Any], "State of the service, where that is the problem."]
    ]


class BatchItem(TypedDict):
    """The result or the problem of one fit check."""

    index: PlaceInRequest
    status: Annotated[int, "Status that this item would have had alone."]
    id: NotRequired[Annotated[str, "The item's own `id`."]]
    result: NotRequired[Annotated[FitCheckAnswer, "Its answer."]]
    problem: NotRequired[Annotated[Problem, "Its problem, in place of an answer."]]


class BatchAnswer(TypedDict):
    """A result or a problem for each fit check, and once what holds for all."""

    items: Annotated[list[BatchItem], "One for each item of the request, in order."]
    not_told: NotTold
    cautions: Cautions
    engine: EngineUsed
