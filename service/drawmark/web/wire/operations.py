"""The table of POST operations."""

from __future__ import annotations

from types import ModuleType

from drawmark.answers import (
    balance,
    clicker,
    cut_plan,
    delivery,
    fit_check,
    kit_assignments,
    kit_consistency,
    kit_labels,
    kit_lengths,
    kit_sets,
    longest_draw,
    minimum_length,
    order,
    recommended_length,
    replacement,
    spine,
)
from drawmark.web.wire.installed_rules import Rules
from drawmark.web.wire.operation import Operation


def operations_of(rules: Rules) -> tuple[Operation, ...]:
    """Give the operations of a service."""

    def operation(path: str, module: ModuleType, summary: str, **options: bool) -> Operation:
        words = path.rpartition("/")[2].split("-")
        name = "".join(map(str.capitalize, words)) + "Request"
        return Operation(path, module, name, summary, rules, **options)

    return (
        operation("minimum-length", minimum_length, "How short is too short to be safe."),
        operation(
            "recommended-length",
            recommended_length,
            "How long the arrow should be, and whether to cut.",
        ),
        operation("longest-draw", longest_draw, "How far a given arrow may be drawn."),
        operation(
            "spine",
            spine,
            "What a cut or another point does to the arrow's stiffness.",
            uses_rules=False,
        ),
        operation(
            "replacement",
            replacement,
            "Which other shaft acts like known arrows, and at what length and with what point?",
        ),
        operation("balance", balance, "Mass, balance point and front of centre.", uses_rules=False),
        operation(
            "clicker",
            clicker,
            "How far does the clicker's blade move after a change, and can it?",
        ),
        operation(
            "fit-check",
            fit_check,
            "May this archer safely shoot these arrows from this bow?",
            has_detail=True,
        ),
        operation(
            "cut-plan",
            cut_plan,
            "How much to cut off next, and how likely that is to go too far.",
        ),
        operation("order", order, "Which shafts to order, and how long to have them cut."),
        operation(
            "delivery",
            delivery,
            "Which arrows that arrived are short, and what are they still good for?",
        ),
        operation(
            "kit/assignments",
            kit_assignments,
            "Which set of the rack does each archer shoot tonight?",
        ),
        operation(
            "kit/labels",
            kit_labels,
            "How far may each set of the rack be drawn, and until when is that enough?",
        ),
        operation(
            "kit/lengths",
            kit_lengths,
            "Which few lengths serve everyone, and what do they waste?",
        ),
        operation(
            "kit/consistency",
            kit_consistency,
            "Which arrows do not belong to their set?",
            uses_rules=False,
        ),
        operation(
            "kit/sets",
            kit_sets,
            "Which arrows of a mixed box make sets that are alike?",
            uses_rules=False,
        ),
    )
