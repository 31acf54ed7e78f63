"""Fields that go together, as far as a document can say it; the fitting layer enforces them."""

from __future__ import annotations

from typing import Any, Final

from drawmark.fitting.model import DRAW
from drawmark.rules.field_paths import parse_need
from drawmark.web.wire.required_fields import of_each


def _part(name: str, stated: dict[str, Any]) -> dict[str, Any]:
    return {"properties": {name: stated}}


_FLETCHING: Final = _part(
    "arrow", _part("fletching", {"dependentRequired": {"mass": ["length", "rear_edge"]}})
)
_SPREAD: Final = _part(
    "archer",
    {
        "dependentRequired": {
            "draw_count": ["draw_variation"],
            "draw_variation": ["draw_count"],
        },
        "not": {
            "anyOf": [
                {"required": ["draw_variation", "draws"]},
                {"required": ["draw_length", "draws"]},
            ]
        },
    },
)
_WEIGHT: Final = _part(
    "bow",
    {
        "dependentRequired": {
            "draw_weight": ["draw_weight_basis"],
            "draw_weight_basis": ["draw_weight"],
        }
    },
)
_CONVENTION: Final = _part(
    "archer",
    {
        "dependentRequired": {
            "draw_length": ["draw_length_convention"],
            "draws": ["draw_length_convention"],
        }
    },
)


def together(needs: tuple[str, ...], uses_rules: bool) -> list[dict[str, Any]]:
    """List what an operation asks of fields that go together."""
    if not needs:
        return []
    asked: dict[str, list[str]] = {"": []}
    for need in needs:
        asked.setdefault(parse_need(need).each, []).append(need)
    return [
        of_each(each, schema) if each else schema
        for each, own in asked.items()
        if not each or any("." in need for need in own)
        for schema in _in_one(any(need.endswith(DRAW) for need in own), uses_rules)
    ]


def _in_one(draws: bool, uses_rules: bool) -> list[dict[str, Any]]:
    stated = [_FLETCHING]
    if uses_rules:
        stated += [_SPREAD, _WEIGHT]
    if draws:
        stated.append(_CONVENTION)
    return stated
