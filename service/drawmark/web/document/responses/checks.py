"""Answers about lengths, spine, balance and fit."""

from __future__ import annotations

from typing import Any, Final, get_args

from drawmark.answers.common.advice import Advice
from drawmark.rules.model import Severity
from drawmark.web.document.responses.shapes import (
    ASSUMED,
    COMMON,
    DERIVED,
    ENGINE,
    FIGURE,
    FIGURES,
    FLAG,
    LENGTH,
    MASS,
    MINIMUM,
    NOT_CHECKED,
    NUMBER,
    PAIR,
    SOLUTION,
    SPINE,
    STATE,
    STATUS,
    TEXT,
    TEXTS,
    UNHELD,
    VERDICT,
    WHOLE,
    choice_of,
    list_of,
    object_of,
    ref,
)

NAMES: Final = {
    "minimum-length": "MinimumLengthAnswer",
    "recommended-length": "RecommendedLengthAnswer",
    "longest-draw": "LongestDrawAnswer",
    "spine": "SpineAnswer",
    "balance": "BalanceAnswer",
    "fit-check": "FitCheckAnswer",
    "fit-check/batch": "BatchAnswer",
}
_BALANCE: Final = {
    "length": LENGTH,
    "balance_point": LENGTH,
    "front_of_centre": NUMBER,
    "front_of_centre_range": object_of({"low": NUMBER, "high": NUMBER}),
}
_BALANCE_MORE: Final = {
    "mass": MASS,
    "mass_of_parts": MASS,
    "parts": list_of(object_of({"name": TEXT, "mass": MASS, "centre": LENGTH})),
    "point_mass_for_wanted": SOLUTION,
}

COMPONENTS: Final[dict[str, dict[str, Any]]] = {
    "Problem": object_of(
        {"type": TEXT, "title": TEXT, "status": WHOLE, "detail": TEXT},
        errors=list_of(object_of({"pointer": TEXT, "detail": TEXT})),
        state={"type": "object"},
    ),
    "NotChecked": object_of({"what": TEXT, "fields": TEXTS}, plugin=TEXT, rule=TEXT),
    "DerivationTerm": object_of({"term": TEXT, "value": LENGTH}, source=TEXT),
    "DrawControl": object_of(
        {"claimed": TEXT, "counts": TEXT, "missing": TEXTS, "allowance": LENGTH}
    ),
    "Floor": object_of(
        {
            "id": TEXT,
            "plugin": TEXT,
            "rule": TEXT,
            "length": LENGTH,
            "reason": TEXT,
            "terms": DERIVED,
        },
        source=TEXT,
    ),
    "Finding": object_of(
        {
            "rule": TEXT,
            "plugin": TEXT,
            "severity": choice_of(*get_args(Severity)),
            "message": TEXT,
        },
        measured=FIGURE,
        limit=FIGURE,
        source=TEXT,
        fields=TEXTS,
    ),
    "ArrowState": object_of(STATE, static_spine=SPINE, launch_load=NUMBER),
    "MinimumLengthAnswer": object_of(
        {
            "status": STATUS,
            "floors": list_of(ref("Floor")),
            "derivation": DERIVED,
            "draw_control": ref("DrawControl"),
            "estimated_draw": FLAG,
            **COMMON,
        },
        **MINIMUM,
        **UNHELD,
        minimum_on_saw=LENGTH,
        nearest_safe_blade=LENGTH,
    ),
    "RecommendedLengthAnswer": object_of(
        {
            "status": STATUS,
            "advice": choice_of(*get_args(Advice)),
            "advice_reason": TEXT,
            "derivation": DERIVED,
            "draw_control": ref("DrawControl"),
            "estimated_draw": FLAG,
            **COMMON,
        },
        **MINIMUM,
        **UNHELD,
        minimum_on_saw=LENGTH,
        recommended=LENGTH,
        window=PAIR,
        checked_length=LENGTH,
        verdict=VERDICT,
        findings=list_of(ref("Finding")),
        nearest_safe_blade=LENGTH,
    ),
    "LongestDrawAnswer": object_of(
        {
            "status": STATUS,
            "draw_length_convention": TEXT,
            "limits": list_of(ref("Floor")),
            "draw_control": ref("DrawControl"),
            **COMMON,
        },
        longest_safe_draw=LENGTH,
        longest_safe_draw_at_most=LENGTH,
        findings=list_of(ref("Finding")),
        reason=TEXT,
    ),
    "SpineAnswer": object_of(
        {
            "before": ref("ArrowState"),
            "after": ref("ArrowState"),
            "assumptions": ASSUMED,
            "derivation": FIGURES,
            "not_checked": NOT_CHECKED,
            "cautions": TEXTS,
            "engine": ENGINE,
        },
        steps=list_of(ref("ArrowState")),
        restoring_point_mass=object_of({"free_vibration": SOLUTION, "launch": SOLUTION}),
    ),
    "BalanceAnswer": object_of(
        {
            **_BALANCE,
            "assumptions": ASSUMED,
            "derivation": FIGURES,
            "not_checked": NOT_CHECKED,
            "cautions": TEXTS,
            "engine": ENGINE,
        },
        **_BALANCE_MORE,
        after_cut=object_of(_BALANCE, **_BALANCE_MORE),
    ),
    "FitCheckAnswer": object_of(
        {
            "verdict": VERDICT,
            "status": STATUS,
            "findings": list_of(ref("Finding")),
        },
        **MINIMUM,
        **COMMON,
        recommended=LENGTH,
        window=PAIR,
        advice=choice_of("no_common_length"),
        advice_reason=TEXT,
        derivation=DERIVED,
        draw_control=ref("DrawControl"),
        nearest_safe_blade=LENGTH,
        minimum_on_saw=LENGTH,
        draw_length_convention=TEXT,
        longest_safe_draw=LENGTH,
        longest_safe_draw_at_most=LENGTH,
        past_back_per_thousand=NUMBER,
        off_rest_per_thousand=NUMBER,
        odds_remark=TEXT,
        not_told=TEXTS,
    ),
    "BatchAnswer": object_of(
        {
            "items": list_of(
                object_of(
                    {"index": WHOLE, "status": WHOLE},
                    id=TEXT,
                    result=ref("FitCheckAnswer"),
                    problem=ref("Problem"),
                )
            ),
            "not_told": TEXTS,
            "cautions": TEXTS,
            "engine": ENGINE,
        }
    ),
}
