"""Answers about cutting."""

from __future__ import annotations

from typing import Any, Final, get_args

from drawmark.fitting.cutting.next_cut import Decision
from drawmark.web.document.responses.shapes import (
    ASSUMED,
    COMMON,
    DERIVED,
    FLAG,
    FORCE,
    LENGTH,
    MASS,
    MINIMUM,
    NUMBER,
    PAIR,
    STATE,
    STATUS,
    TEXT,
    TEXTS,
    VERDICT,
    WHOLE,
    choice_of,
    list_of,
    object_of,
    ref,
)

NAMES: Final = {"cut-plan": "CutPlanAnswer", "order": "OrderAnswer"}
_DECISION: Final = choice_of(*get_args(Decision))
_NEXT: Final = {
    "next_length": LENGTH,
    "next_tube_length": LENGTH,
    "probability_too_far": NUMBER,
    "ideal_length": ref("IdealLength"),
}
_POINTS: Final = {
    "acts_like_length": LENGTH,
    "present_front_of_centre": NUMBER,
    "free_vibration": ref("PointSolution"),
    "launch": ref("PointSolution"),
}
_TRIAL: Final = {**STATE, "tube_length": LENGTH, "verdict": VERDICT, "may_be_shot": FLAG}

COMPONENTS: Final[dict[str, dict[str, Any]]] = {
    "IdealLength": object_of({"estimate": LENGTH, "low": LENGTH, "high": LENGTH}),
    "MeasureDecision": object_of(
        {"measure": choice_of("free_vibration", "launch"), "decision": _DECISION}, **_NEXT
    ),
    "CutState": object_of(
        _TRIAL, static_spine=ref("ReportedStaticSpine"), launch_load=NUMBER, clicker_reached=FLAG
    ),
    "CutStep": object_of(
        {"cut": LENGTH, **_TRIAL},
        static_spine=ref("ReportedStaticSpine"),
        launch_load=NUMBER,
        clicker_reached=FLAG,
    ),
    "PointSolution": object_of(
        {},
        point_mass=MASS,
        front_of_centre=NUMBER,
        launch_load=NUMBER,
        verdict=VERDICT,
        reason=TEXT,
    ),
    "Remedy": object_of(
        {"kind": choice_of("point_mass", "draw_weight", "longer_shaft"), "source": TEXT},
        **_POINTS,
        draw_weight_change=FORCE,
        draw_weight=FORCE,
        arrow_length=LENGTH,
        tube_length=LENGTH,
        range=PAIR,
        verdict=VERDICT,
        reason=TEXT,
    ),
    "CutPlanAnswer": object_of(
        {
            "decision": _DECISION,
            "reason": TEXT,
            "status": STATUS,
            "findings": list_of(ref("Finding")),
            "derivation": DERIVED,
            "draw_control": ref("DrawControl"),
            "estimated_draw": FLAG,
            "present": ref("CutState"),
            "steps": list_of(ref("CutStep")),
            "shafts": object_of({"test": WHOLE, "waiting": WHOLE, "uncut": WHOLE}),
            "set_may_follow": FLAG,
            "shafts_advice": TEXT,
            "remedies": list_of(ref("Remedy")),
            "before_any_cut": TEXTS,
            "assumptions": ASSUMED,
            **COMMON,
        },
        **MINIMUM,
        minimum_on_saw=LENGTH,
        **_NEXT,
        recommended=LENGTH,
        window=PAIR,
        nearest_safe_blade=LENGTH,
        rounds_needed=WHOLE,
        shots_needed=WHOLE,
        measures=list_of(ref("MeasureDecision")),
        measures_differ=FLAG,
        more_steps=WHOLE,
        blocked_at=object_of(
            {"length": LENGTH, "verdict": VERDICT, "findings": list_of(ref("Finding"))}
        ),
        point_for_length=object_of(
            {
                "length": LENGTH,
                "tube_length": LENGTH,
                "fixed_by": choice_of("clicker", "wanted_length"),
                "keeps": choice_of("present", "ideal"),
                **_POINTS,
            }
        ),
        reading=object_of(
            {
                "setup": TEXT,
                "rounds": WHOLE,
                "set_aside": WHOLE,
                "group_widths": WHOLE,
                "arrow_deviation": LENGTH,
                "distance": LENGTH,
            }
        ),
    ),
    "OrderLine": object_of(
        {
            "shaft": TEXT,
            "arrow_length": LENGTH,
            "tube_length": LENGTH,
            "uncut": FLAG,
            "count": WHOLE,
            "stock_length": LENGTH,
            "sets": TEXTS,
        }
    ),
    "OrderedSet": object_of(
        {"id": TEXT, "cut": WHOLE, "uncut": WHOLE, "reason": TEXT},
        **MINIMUM,
        minimum_on_saw=LENGTH,
        status=STATUS,
        derivation=DERIVED,
        verdict=VERDICT,
        findings=list_of(ref("Finding")),
    ),
    "OrderAnswer": object_of(
        {
            "lines": list_of(ref("OrderLine")),
            "total": WHOLE,
            "total_uncut": WHOLE,
            "sets": list_of(ref("OrderedSet")),
            "status": STATUS,
            **COMMON,
        }
    ),
}
