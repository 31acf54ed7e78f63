"""The table of POST operations and their views."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import msgspec
from flask import Blueprint, Response, request

from drawmark.answers import (
    balance,
    cut_plan,
    fit_check,
    kit_assignments,
    kit_consistency,
    kit_labels,
    kit_lengths,
    longest_draw,
    minimum_length,
    order,
    recommended_length,
    spine,
)
from drawmark.web.batch import BATCH_PATH, batch_view
from drawmark.web.metrics import metrics_of_process
from drawmark.web.settings import Settings
from drawmark.web.wire.accept import FORMATS, JSON, Writer, choose_type
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.request_body import read_body

# Path, module, name of the request, takes rules, takes detail, what it answers.
_TABLE: Final = (
    (
        "minimum-length",
        minimum_length,
        "MinimumLengthRequest",
        True,
        False,
        "How short is too short to be safe.",
    ),
    (
        "recommended-length",
        recommended_length,
        "RecommendedLengthRequest",
        True,
        False,
        "How long the arrow should be, and whether to cut.",
    ),
    (
        "longest-draw",
        longest_draw,
        "LongestDrawRequest",
        True,
        False,
        "How far a given arrow may be drawn.",
    ),
    (
        "spine",
        spine,
        "SpineRequest",
        False,
        False,
        "What a cut or another point does to the arrow's stiffness.",
    ),
    (
        "balance",
        balance,
        "BalanceRequest",
        False,
        False,
        "Mass, balance point and front of centre.",
    ),
    (
        "fit-check",
        fit_check,
        "FitCheckRequest",
        True,
        True,
        "May this archer safely shoot these arrows from this bow?",
    ),
    (
        "cut-plan",
        cut_plan,
        "CutPlanRequest",
        True,
        False,
        "How much to cut off next, and how likely that is to be too much.",
    ),
    (
        "order",
        order,
        "OrderRequest",
        True,
        False,
        "Which shafts to order, and how long to have them cut.",
    ),
    (
        "kit/assignments",
        kit_assignments,
        "AssignmentsRequest",
        True,
        False,
        "Which set of the rack does each archer shoot tonight?",
    ),
    (
        "kit/labels",
        kit_labels,
        "LabelsRequest",
        True,
        False,
        "How far may each set of the rack be drawn, and until when is that enough?",
    ),
    (
        "kit/lengths",
        kit_lengths,
        "LengthsRequest",
        True,
        False,
        "Which few lengths serve everyone, and what do they waste?",
    ),
    (
        "kit/consistency",
        kit_consistency,
        "ConsistencyRequest",
        False,
        False,
        "Which arrows do not belong to their set?",
    ),
)


def operations_of(rules: Rules) -> tuple[Operation, ...]:
    """Give the operations of a service."""
    return tuple(
        Operation(
            path=path,
            module=module,
            name=name,
            summary=summary,
            rules=rules,
            uses_rules=uses_rules,
            has_detail=has_detail,
        )
        for path, module, name, uses_rules, has_detail, summary in _TABLE
    )


def batch_item(rules: Rules) -> Operation:
    """Give the fit check of one item of a batch."""
    return Operation(
        path=BATCH_PATH,
        module=fit_check,
        name="FitCheckItem",
        summary="Many fit checks in one request.",
        rules=rules,
        has_detail=True,
        with_id=True,
        detail="verdict",
    )


def blueprint(rules: Rules, settings: Settings) -> Blueprint:
    """Register every operation."""
    blue = Blueprint("calculations", __name__, url_prefix="/v1")
    encode = msgspec.json.Encoder().encode
    operations = operations_of(rules)
    for one in operations:
        one.compile()
    views = {
        one.path: _view(
            one.calculate, settings.body_limit, {JSON: encode, **FORMATS.get(one.path, {})}
        )
        for one in operations
    }
    views[BATCH_PATH] = batch_view(batch_item(rules), settings)
    for path, view in views.items():
        blue.add_url_rule(f"/{path}", path, view, methods=["POST"], provide_automatic_options=False)
    return blue


def _counted(answer: dict[str, Any]) -> dict[str, Any]:
    verdict = answer.get("verdict")
    if verdict is not None:
        metrics_of_process().count_verdicts({verdict: 1})
    return answer


def _view(
    calculate: Callable[[bytes], dict[str, Any]], most: int, writers: dict[str, Writer]
) -> Callable[[], Response]:
    offered = [media_type for media_type in writers if media_type != JSON]

    def view() -> Response:
        answer = _counted(calculate(read_body(most)))
        chosen = choose_type(request.accept_mimetypes, offered) if offered else JSON
        return Response(writers[chosen](answer), mimetype=chosen)

    return view
