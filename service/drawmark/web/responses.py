"""Schemas of the answers, for the document; tests hold every answer against them."""

from __future__ import annotations

from typing import Any, Final

_TEXT: Final = {"type": "string"}
_TEXTS: Final = {"type": "array", "items": _TEXT}
_NUMBER: Final = {"type": "number"}
_FLAG: Final = {"type": "boolean"}


def _ref(name: str) -> dict[str, Any]:
    return {"$ref": f"#/components/schemas/{name}"}


def _list(item: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": item}


def _object(required: dict[str, Any], **optional: Any) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": {**required, **optional},
        "required": sorted(required),
        "additionalProperties": False,
    }


_LENGTH: Final = _ref("ReportedLength")
_MASS: Final = _ref("ReportedMass")
_FORCE: Final = _ref("ReportedForce")
_SPINE: Final = _ref("ReportedStaticSpine")
_FIGURE: Final = {
    "anyOf": [
        _NUMBER,
        _LENGTH,
        _MASS,
        _FORCE,
        _ref("ReportedMassPerLength"),
        _SPINE,
        _ref("ReportedFrequency"),
    ]
}
_STATUS: Final = {"type": "string", "enum": ["determinate", "indeterminate"]}
_PAIR: Final = _object({"shortest": _LENGTH, "longest": _LENGTH})
_ENGINE: Final = _object({"name": _TEXT, "version": _TEXT})
_COMMON: Final = {
    "cautions": _TEXTS,
    "unevaluated": _list(_object({"plugin": _TEXT, "rule": _TEXT, "reason": _TEXT})),
    "not_checked": _list(_ref("NotChecked")),
    "rules_applied": _list(_object({"plugin": _TEXT, "version": _TEXT})),
    "ruleset": _TEXT,
    "engine": _ENGINE,
}
_MINIMUM: Final = {"minimum": _LENGTH, "minimum_at_least": _LENGTH}
_SOLUTION: Final = _object({}, point_mass=_MASS, reason=_TEXT)
_ASSUMED: Final = _list(_object({"field": _TEXT, "assumed": _TEXT}))
_DERIVED: Final = _list(_ref("DerivationTerm"))

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
    "length": _LENGTH,
    "balance_point": _LENGTH,
    "front_of_centre": _NUMBER,
    "front_of_centre_range": _object({"low": _NUMBER, "high": _NUMBER}),
}
_BALANCE_MORE: Final = {
    "mass": _MASS,
    "mass_of_parts": _MASS,
    "parts": _list(_object({"name": _TEXT, "mass": _MASS, "centre": _LENGTH})),
    "point_mass_for_wanted": _SOLUTION,
}

COMPONENTS: Final[dict[str, dict[str, Any]]] = {
    "Problem": _object(
        {"type": _TEXT, "title": _TEXT, "status": {"type": "integer"}, "detail": _TEXT},
        errors=_list(_object({"pointer": _TEXT, "detail": _TEXT})),
        state={"type": "object"},
    ),
    "NotChecked": _object({"what": _TEXT, "fields": _TEXTS}, plugin=_TEXT, rule=_TEXT),
    "DerivationTerm": _object({"term": _TEXT, "value": _LENGTH}, source=_TEXT),
    "DrawControl": _object(
        {"claimed": _TEXT, "counts": _TEXT, "missing": _TEXTS, "allowance": _LENGTH}
    ),
    "Floor": _object(
        {
            "id": _TEXT,
            "plugin": _TEXT,
            "rule": _TEXT,
            "length": _LENGTH,
            "reason": _TEXT,
            "terms": _DERIVED,
        },
        source=_TEXT,
    ),
    "Finding": _object(
        {
            "rule": _TEXT,
            "plugin": _TEXT,
            "severity": {
                "type": "string",
                "enum": ["note", "caution", "indeterminate", "stop"],
            },
            "message": _TEXT,
        },
        measured=_FIGURE,
        limit=_FIGURE,
        source=_TEXT,
        fields=_TEXTS,
    ),
    "ArrowState": _object(
        {
            "length": _LENGTH,
            "mass": _MASS,
            "first_bending_frequency": _ref("ReportedFrequency"),
            "own_length_deflection": _LENGTH,
            "equivalent_static_spine": _object({"free_vibration": _SPINE, "launch": _SPINE}),
            "critical_launch_force": _FORCE,
            "front_of_centre": _NUMBER,
            "draw_weight_shift": _FORCE,
            "draw_weight_shift_source": _TEXT,
        },
        static_spine=_SPINE,
        launch_load=_NUMBER,
    ),
    "MinimumLengthAnswer": _object(
        {
            "status": _STATUS,
            "floors": _list(_ref("Floor")),
            "derivation": _DERIVED,
            "draw_control": _ref("DrawControl"),
            "estimated_draw": _FLAG,
            **_COMMON,
        },
        **_MINIMUM,
        nearest_safe_blade=_LENGTH,
    ),
    "RecommendedLengthAnswer": _object(
        {
            "status": _STATUS,
            "advice": {
                "type": "string",
                "enum": ["cut_to", "leave_uncut", "too_short", "no_common_length", "as_is"],
            },
            "advice_reason": _TEXT,
            "derivation": _DERIVED,
            "draw_control": _ref("DrawControl"),
            "estimated_draw": _FLAG,
            **_COMMON,
        },
        **_MINIMUM,
        recommended=_LENGTH,
        window=_PAIR,
        nearest_safe_blade=_LENGTH,
    ),
    "LongestDrawAnswer": _object(
        {
            "status": _STATUS,
            "draw_length_convention": _TEXT,
            "limits": _list(_ref("Floor")),
            "draw_control": _ref("DrawControl"),
            **_COMMON,
        },
        longest_safe_draw=_LENGTH,
        longest_safe_draw_at_most=_LENGTH,
        reason=_TEXT,
    ),
    "SpineAnswer": _object(
        {
            "before": _ref("ArrowState"),
            "after": _ref("ArrowState"),
            "assumptions": _ASSUMED,
            "not_checked": _list(_ref("NotChecked")),
            "cautions": _TEXTS,
            "engine": _ENGINE,
        },
        steps=_list(_ref("ArrowState")),
        restoring_point_mass=_object({"free_vibration": _SOLUTION, "launch": _SOLUTION}),
    ),
    "BalanceAnswer": _object(
        {
            **_BALANCE,
            "assumptions": _ASSUMED,
            "not_checked": _list(_ref("NotChecked")),
            "cautions": _TEXTS,
            "engine": _ENGINE,
        },
        **_BALANCE_MORE,
        after_cut=_object(_BALANCE, **_BALANCE_MORE),
    ),
    "FitCheckAnswer": _object(
        {
            "verdict": {"type": "string", "enum": ["pass", "caution", "indeterminate", "stop"]},
            "status": _STATUS,
            "findings": _list(_ref("Finding")),
        },
        **_MINIMUM,
        **_COMMON,
        recommended=_LENGTH,
        window=_PAIR,
        derivation=_DERIVED,
        draw_control=_ref("DrawControl"),
        nearest_safe_blade=_LENGTH,
        longest_safe_draw=_LENGTH,
        longest_safe_draw_at_most=_LENGTH,
        past_back_per_thousand=_NUMBER,
        off_rest_per_thousand=_NUMBER,
        odds_remark=_TEXT,
        not_told=_TEXTS,
    ),
    "BatchAnswer": _object(
        {
            "items": _list(
                _object(
                    {"index": {"type": "integer"}, "status": {"type": "integer"}},
                    id=_TEXT,
                    result=_ref("FitCheckAnswer"),
                    problem=_ref("Problem"),
                )
            )
        }
    ),
}
