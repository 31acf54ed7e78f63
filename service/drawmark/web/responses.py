"""Schemas of the answers, for the document; tests hold every answer against them."""

from __future__ import annotations

from typing import Any, Final

TEXT: Final = {"type": "string"}
TEXTS: Final = {"type": "array", "items": TEXT}
NUMBER: Final = {"type": "number"}
FLAG: Final = {"type": "boolean"}


def _ref(name: str) -> dict[str, Any]:
    return {"$ref": f"#/components/schemas/{name}"}


def list_of(item: dict[str, Any]) -> dict[str, Any]:
    """Describe a list."""
    return {"type": "array", "items": item}


def object_of(required: dict[str, Any], **optional: Any) -> dict[str, Any]:
    """Describe an object: these members, some of them optional, and no others."""
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
        NUMBER,
        _LENGTH,
        _MASS,
        _FORCE,
        _ref("ReportedMassPerLength"),
        _SPINE,
        _ref("ReportedFrequency"),
    ]
}
_STATUS: Final = {"type": "string", "enum": ["determinate", "indeterminate"]}
_PAIR: Final = object_of({"shortest": _LENGTH, "longest": _LENGTH})
_ENGINE: Final = object_of({"name": TEXT, "version": TEXT})
_COMMON: Final = {
    "cautions": TEXTS,
    "unevaluated": list_of(object_of({"plugin": TEXT, "rule": TEXT, "reason": TEXT})),
    "not_checked": list_of(_ref("NotChecked")),
    "rules_applied": list_of(object_of({"plugin": TEXT, "version": TEXT})),
    "ruleset": TEXT,
    "engine": _ENGINE,
}
_MINIMUM: Final = {"minimum": _LENGTH, "minimum_at_least": _LENGTH}
_SOLUTION: Final = object_of({}, point_mass=_MASS, reason=TEXT)
_ASSUMED: Final = list_of(object_of({"field": TEXT, "assumed": TEXT}))
_DERIVED: Final = list_of(_ref("DerivationTerm"))

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
    "front_of_centre": NUMBER,
    "front_of_centre_range": object_of({"low": NUMBER, "high": NUMBER}),
}
_BALANCE_MORE: Final = {
    "mass": _MASS,
    "mass_of_parts": _MASS,
    "parts": list_of(object_of({"name": TEXT, "mass": _MASS, "centre": _LENGTH})),
    "point_mass_for_wanted": _SOLUTION,
}

COMPONENTS: Final[dict[str, dict[str, Any]]] = {
    "Problem": object_of(
        {"type": TEXT, "title": TEXT, "status": {"type": "integer"}, "detail": TEXT},
        errors=list_of(object_of({"pointer": TEXT, "detail": TEXT})),
        state={"type": "object"},
    ),
    "NotChecked": object_of({"what": TEXT, "fields": TEXTS}, plugin=TEXT, rule=TEXT),
    "DerivationTerm": object_of({"term": TEXT, "value": _LENGTH}, source=TEXT),
    "DrawControl": object_of(
        {"claimed": TEXT, "counts": TEXT, "missing": TEXTS, "allowance": _LENGTH}
    ),
    "Floor": object_of(
        {
            "id": TEXT,
            "plugin": TEXT,
            "rule": TEXT,
            "length": _LENGTH,
            "reason": TEXT,
            "terms": _DERIVED,
        },
        source=TEXT,
    ),
    "Finding": object_of(
        {
            "rule": TEXT,
            "plugin": TEXT,
            "severity": {
                "type": "string",
                "enum": ["note", "caution", "indeterminate", "stop"],
            },
            "message": TEXT,
        },
        measured=_FIGURE,
        limit=_FIGURE,
        source=TEXT,
        fields=TEXTS,
    ),
    "ArrowState": object_of(
        {
            "length": _LENGTH,
            "mass": _MASS,
            "first_bending_frequency": _ref("ReportedFrequency"),
            "own_length_deflection": _LENGTH,
            "equivalent_static_spine": object_of({"free_vibration": _SPINE, "launch": _SPINE}),
            "critical_launch_force": _FORCE,
            "front_of_centre": NUMBER,
            "draw_weight_shift": _FORCE,
            "draw_weight_shift_source": TEXT,
        },
        static_spine=_SPINE,
        launch_load=NUMBER,
    ),
    "MinimumLengthAnswer": object_of(
        {
            "status": _STATUS,
            "floors": list_of(_ref("Floor")),
            "derivation": _DERIVED,
            "draw_control": _ref("DrawControl"),
            "estimated_draw": FLAG,
            **_COMMON,
        },
        **_MINIMUM,
        nearest_safe_blade=_LENGTH,
    ),
    "RecommendedLengthAnswer": object_of(
        {
            "status": _STATUS,
            "advice": {
                "type": "string",
                "enum": ["cut_to", "leave_uncut", "too_short", "no_common_length", "as_is"],
            },
            "advice_reason": TEXT,
            "derivation": _DERIVED,
            "draw_control": _ref("DrawControl"),
            "estimated_draw": FLAG,
            **_COMMON,
        },
        **_MINIMUM,
        recommended=_LENGTH,
        window=_PAIR,
        nearest_safe_blade=_LENGTH,
    ),
    "LongestDrawAnswer": object_of(
        {
            "status": _STATUS,
            "draw_length_convention": TEXT,
            "limits": list_of(_ref("Floor")),
            "draw_control": _ref("DrawControl"),
            **_COMMON,
        },
        longest_safe_draw=_LENGTH,
        longest_safe_draw_at_most=_LENGTH,
        reason=TEXT,
    ),
    "SpineAnswer": object_of(
        {
            "before": _ref("ArrowState"),
            "after": _ref("ArrowState"),
            "assumptions": _ASSUMED,
            "not_checked": list_of(_ref("NotChecked")),
            "cautions": TEXTS,
            "engine": _ENGINE,
        },
        steps=list_of(_ref("ArrowState")),
        restoring_point_mass=object_of({"free_vibration": _SOLUTION, "launch": _SOLUTION}),
    ),
    "BalanceAnswer": object_of(
        {
            **_BALANCE,
            "assumptions": _ASSUMED,
            "not_checked": list_of(_ref("NotChecked")),
            "cautions": TEXTS,
            "engine": _ENGINE,
        },
        **_BALANCE_MORE,
        after_cut=object_of(_BALANCE, **_BALANCE_MORE),
    ),
    "FitCheckAnswer": object_of(
        {
            "verdict": {"type": "string", "enum": ["pass", "caution", "indeterminate", "stop"]},
            "status": _STATUS,
            "findings": list_of(_ref("Finding")),
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
        past_back_per_thousand=NUMBER,
        off_rest_per_thousand=NUMBER,
        odds_remark=TEXT,
        not_told=TEXTS,
    ),
    "BatchAnswer": object_of(
        {
            "items": list_of(
                object_of(
                    {"index": {"type": "integer"}, "status": {"type": "integer"}},
                    id=TEXT,
                    result=_ref("FitCheckAnswer"),
                    problem=_ref("Problem"),
                )
            )
        }
    ),
}
