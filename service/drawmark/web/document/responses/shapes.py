"""Pieces of which the schemas of answers are made."""

from __future__ import annotations

from typing import Any, Final

from drawmark.rules.model import VERDICTS

TEXT: Final = {"type": "string"}
TEXTS: Final = {"type": "array", "items": TEXT}
NUMBER: Final = {"type": "number"}
WHOLE: Final = {"type": "integer"}
FLAG: Final = {"type": "boolean"}


def ref(name: str) -> dict[str, Any]:
    """Point at a component."""
    return {"$ref": f"#/components/schemas/{name}"}


def choice_of(*values: str) -> dict[str, Any]:
    """Describe one of a few words."""
    return {"type": "string", "enum": list(values)}


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


LENGTH: Final = ref("ReportedLength")
MASS: Final = ref("ReportedMass")
FORCE: Final = ref("ReportedForce")
SPINE: Final = ref("ReportedStaticSpine")
FREQUENCY: Final = ref("ReportedFrequency")
FIGURE: Final = {
    "anyOf": [NUMBER, LENGTH, MASS, FORCE, ref("ReportedMassPerLength"), SPINE, FREQUENCY]
}
STATUS: Final = choice_of("determinate", "indeterminate")
VERDICT: Final = choice_of(*VERDICTS)
PAIR: Final = object_of({"shortest": LENGTH, "longest": LENGTH})
ENGINE: Final = object_of({"name": TEXT, "version": TEXT})
NOT_CHECKED: Final = list_of(ref("NotChecked"))
COMMON: Final = {
    "cautions": TEXTS,
    "unevaluated": list_of(object_of({"plugin": TEXT, "rule": TEXT, "reason": TEXT})),
    "not_checked": NOT_CHECKED,
    "rules_applied": list_of(object_of({"plugin": TEXT, "version": TEXT})),
    "ruleset": TEXT,
    "engine": ENGINE,
}
MINIMUM: Final = {"minimum": LENGTH, "minimum_at_least": LENGTH}
UNHELD: Final = {
    "minimum_without_clicker": LENGTH,
    "minimum_without_clicker_at_least": LENGTH,
}
SOLUTION: Final = object_of({}, point_mass=MASS, reason=TEXT)
ASSUMED: Final = list_of(object_of({"field": TEXT, "assumed": TEXT}))
FIGURES: Final = list_of(object_of({"figure": TEXT, "source": TEXT}))
DERIVED: Final = list_of(ref("DerivationTerm"))
STATE: Final = {
    "length": LENGTH,
    "mass": MASS,
    "first_bending_frequency": FREQUENCY,
    "own_length_deflection": LENGTH,
    "equivalent_static_spine": object_of({"free_vibration": SPINE, "launch": SPINE}),
    "critical_launch_force": FORCE,
    "front_of_centre": NUMBER,
    "draw_weight_shift": FORCE,
    "draw_weight_shift_source": TEXT,
}
