"""Choices among words as components: a generated client gets one class for each."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, get_args

from drawmark.answers.club.arrow_box import Sorting
from drawmark.answers.club.members import VANES
from drawmark.answers.common.advice import Advice
from drawmark.answers.common.answer_types import Certainty
from drawmark.fitting.cutting.next_cut import Decision
from drawmark.fitting.kit.odd_arrows import Figure
from drawmark.fitting.mechanics.arrow_parts import CutEnd
from drawmark.fitting.model import MATERIALS
from drawmark.fitting.units import DIMENSIONS
from drawmark.rules.model import Severity, Verdict
from drawmark.web.document.answer_schemas import Schema, ref
from drawmark.web.wire.catalogue_entries import PluginStatus
from drawmark.web.wire.operation import DETAILS
from drawmark.web.wire.quantity_field import COMPONENTS

_SHARED: Final[dict[tuple[str, ...], tuple[str, str]]] = {
    get_args(Verdict): ("Verdict", "What the worst finding says."),
    get_args(Severity): ("Severity", "How a finding bears on the verdict."),
    get_args(Certainty): ("Status", "Whether every rule that may set a floor was evaluated."),
    get_args(Advice): ("Advice", "What to do about the length."),
    get_args(Decision): ("Decision", "What to do next about a cut."),
    get_args(Figure): ("MeasuredFigure", "Figure of an arrow that was measured."),
    get_args(Sorting): ("SortingFigure", "Figure by which a box of arrows is sorted."),
    get_args(CutEnd): ("CutEnd", "End of the shaft that is cut."),
    get_args(PluginStatus): ("PluginStatus", "Whether a plugin was loaded."),
    MATERIALS: ("Material", "Material of a shaft."),
    VANES: ("Vanes", "What vanes are made of."),
    DETAILS: ("Detail", "How much is answered."),
    **{
        tuple(unit.symbol for unit in units): (
            f"{COMPONENTS[dimension]}Unit",
            f"Units: {'; '.join(f'{unit.symbol}, {unit.name}' for unit in units)}.",
        )
        for dimension, units in DIMENSIONS.items()
        if len(units) > 1
    },
}
"""Words that stand in several places, with the name and the meaning of their component."""


def name_choices(schemas: dict[str, Schema], owners: Iterable[str]) -> list[str]:
    """Replace what members may be by references; give the names of the new components.

    A choice that only one member has is named after the two.
    """
    new: list[str] = []
    for owner in owners:
        for member, shape in schemas[owner].get("properties", {}).items():
            inner = shape.get("items", shape)
            if "enum" not in inner and not isinstance(inner.get("additionalProperties"), dict):
                continue
            words = tuple(inner.get("enum", ()))
            name, text = _SHARED.get(words) or (_joined(owner, member), shape["description"])
            if name not in schemas:
                new.append(name)
                schemas[name] = {**_choice_of(inner), "description": text}
            for key in _choice_of(inner):
                del inner[key]
            inner.update(ref(name))
    return new


def _choice_of(schema: Schema) -> Schema:
    return {key: schema[key] for key in ("type", "enum", "additionalProperties") if key in schema}


def _joined(owner: str, member: str) -> str:
    return owner + "".join(word.capitalize() for word in member.split("_"))
