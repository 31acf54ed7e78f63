"""Fields that go together, as far as a document can say it; the lower layers enforce them.

They stand in the component whose fields they are, in keywords that validators read and generators
of clients pass over: `dependentRequired`, `dependentSchemas`, and `if` with `then`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from drawmark.fitting.field_kinds import Part
from drawmark.fitting.fields import specs_of
from drawmark.fitting.model import DRAW
from drawmark.rules.field_paths import Need, parse_need
from drawmark.web.wire.operation import Operation

Schema = dict[str, Any]


def _within(part: str, asked: Schema) -> Schema:
    return {"properties": {part: asked}}


_CONVENTION: Final[Schema] = {
    "dependentRequired": {
        "draw_length": ["draw_length_convention"],
        "draws": ["draw_length_convention"],
    }
}
_DRAW: Final[Schema] = {
    "anyOf": [{"required": list(path.names[1:])} for path in parse_need(DRAW).alternatives],
    **_CONVENTION,
}
_SPREAD_OF_MASS: Final[Schema] = {
    "dependentSchemas": {"mass_spread": _within("arrow", {"required": ["mass"]})}
}
_CURVE: Final[Schema] = {
    "dependentSchemas": {
        "curve_months": _within(
            "archer",
            {
                "allOf": [
                    {"anyOf": [{"required": ["growth_rate"]}, {"required": ["age"]}]},
                    {"anyOf": [{"required": ["draw_length"]}, {"required": ["draws"]}]},
                ]
            },
        )
    }
}
_OF_PARTS: Final[Mapping[str, Schema]] = {
    "Archer": {
        "dependentRequired": {
            "draw_count": ["draw_variation"],
            "draw_variation": ["draw_count"],
            "measured_on": ["today"],
        },
        "dependentSchemas": {
            "draws": {"properties": {"draw_length": False, "draw_variation": False}}
        },
    },
    "Bow": {
        "dependentRequired": {
            "draw_weight": ["draw_weight_basis"],
            "draw_weight_basis": ["draw_weight"],
        }
    },
    "ClubSet": _SPREAD_OF_MASS,
    "CutPlanRequest": {
        "if": {"required": ["shots"], **_within("shots", {"contains": {"required": ["side"]}})},
        "then": _within("archer", {"required": ["release", "string_hand"]}),
    },
    "FitCheckItem": _CURVE,
    "FitCheckRequest": _CURVE,
    "Fletching": {"dependentRequired": {"mass": ["length", "rear_edge"]}},
    "LabelsRequest": {
        "dependentRequired": {"growth_rate": ["archer"]},
        "dependentSchemas": {"growth_rate": _within("archer", _DRAW)},
    },
    "OrderSet": {
        "dependentRequired": {"archer": ["bow"]},
    },
    "RackSet": _SPREAD_OF_MASS,
    "ReplacementRequest": {
        "dependentRequired": {"archer": ["bow"], "bow": ["archer"]},
        "dependentSchemas": {
            "archer": _within("archer", _DRAW),
            "arrow": _within(
                "arrow",
                _within("point", _within("mass", _within("value", {"exclusiveMinimum": 0}))),
            ),
        },
    },
    "SpineRequest": {
        "dependentRequired": {"available_points": ["changes"], "step": ["changes"]},
        "dependentSchemas": {
            "bow": _within("bow", _within("draw_weight_basis", {"const": "own_draw"})),
            "step": _within("changes", {"required": ["length"]}),
        },
    },
}
"""What goes together wherever a part is asked for, by component."""


def state_dependencies(schemas: dict[str, Schema], operations: Iterable[Operation]) -> None:
    """Add to the components what goes together, and what operations need."""
    asked = dict(_OF_PARTS)
    for operation in operations:
        for owner, needs in _needs_by_component(operation).items():
            asked[owner] = _stated(needs, asked.get(owner, {}))
    for owner, stated in asked.items():
        schemas[owner] = _merged(schemas[owner], stated)


def _needs_by_component(operation: Operation) -> dict[str, list[Need]]:
    """Sort needs by the component whose fields they name: the request, or items of a list."""
    found: dict[str, list[Need]] = {}
    for need in map(parse_need, operation.module.NEEDS):
        owner = operation.name
        if need.each:
            items = specs_of(operation.module.Request)[need.each]
            assert isinstance(items, Part)
            owner = items.cls.__name__
        found.setdefault(owner, []).append(need)
    return found


def _stated(needs: Iterable[Need], stated: Schema) -> Schema:
    """State needs as keywords of their component, beside what is stated of it."""
    for need in needs:
        ways: dict[str, list[tuple[str, ...]]] = {}
        for path in need.alternatives:
            ways.setdefault(path.names[0], []).append(path.names[1:])
        for part, inner in ways.items():
            if all(inner):
                asked = _within(part, _any_of([_required(*names) for names in inner]))
                stated = _merged(stated, {"dependentSchemas": {part: asked}})
        # A part that is given must serve, even where something else would meet the need.
        first, *others = ({"required": [name]} for name in ways)
        either = {"if": {"not": first}, "then": others[0]} if others else first
        assert len(others) < 2
        stated = _merged(stated, either)
        if any(path.dotted in DRAW for path in need.alternatives):
            asked = _within("archer", _CONVENTION)
            stated = _merged(stated, {"dependentSchemas": {"archer": asked}})
    return stated


def _required(name: str, *below: str) -> Schema:
    """Ask for a field, and for a field in it."""
    asked: Schema = {"required": [name]}
    return {**asked, **_within(name, _required(*below))} if below else asked


def _any_of(choices: list[Schema]) -> Schema:
    return choices[0] if len(choices) == 1 else {"anyOf": choices}


def _merged(one: Mapping[str, Any], other: Mapping[str, Any]) -> Schema:
    """Give a schema that says what two schemas say."""
    both = dict(one)
    for key, value in other.items():
        if key not in both:
            both[key] = value
        elif isinstance(value, dict):
            both[key] = _merged(both[key], value)
        elif key == "required":
            both[key] = sorted({*both[key], *value})
        elif both[key] != value:
            assert key == "anyOf"
            both["allOf"] = [{key: both.pop(key)}, {key: value}]
    return both
