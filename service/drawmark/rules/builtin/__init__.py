"""The core's own rules, which come in by the same door as a plugin's."""

from __future__ import annotations

from drawmark.fitting.model import DRAW
from drawmark.rules.builtin import arrows, draws, growing
from drawmark.rules.hook import hookimpl
from drawmark.rules.model import Check, Rule
from drawmark.rules.needs import FACT_FIELDS


def _rule(
    name: str,
    title: str,
    check: Check,
    *needs: str,
    floors: bool = False,
    concerns: str | None = None,
    source: str | None = None,
) -> Rule:
    return Rule(
        id=name,
        title=title,
        check=check,
        check_many=check,
        needs=needs,
        concerns=concerns,
        gives=frozenset(("floor",)) if floors else frozenset(("finding",)),
        required=floors,
        source=source,
    )


@hookimpl
def drawmark_rules() -> list[Rule]:
    """Give the core's rules."""
    return [
        _rule(
            "minimum-length",
            "Minimum safe length.",
            draws.minimum_length,
            DRAW,
            floors=True,
            source="margin-one-inch",
        ),
        _rule(
            "shaft-behind-back",
            "Shaft's end against the back of the bow.",
            draws.shaft_behind_back,
            "arrow.length",
            source="project-margin",
        ),
        _rule(
            "few-draws",
            "Few draws that vary widely.",
            draws.few_draws,
            "archer.draws|archer.draw_variation",
            concerns="archer.draws|archer.draw_variation",
            source="project-margin",
        ),
        _rule(
            "old-draw",
            "Age of the draw.",
            growing.old_draw,
            "archer.measured_on",
            "archer.today",
            concerns="archer.measured_on",
            source="growth-ages",
        ),
        _rule("draw-control", "Claimed draw control shown by the request.", draws.draw_control),
        _rule(
            "outgrown-control",
            "Growth of a draw that a clicker or a draw stop ends.",
            draws.outgrown_control,
            "arrow.length",
            "archer.growth_allowance",
            concerns="archer.growth_allowance",
            source="tanner-davies",
        ),
        _rule(
            "clicker-reach",
            "Arrow against the clicker's range.",
            draws.clicker_reach,
            "arrow.length",
            "arrow.point.exposed_length",
            "bow.clicker_range",
            concerns="archer.draw_control=clicker",
        ),
        _rule(
            "clicker-in-barebow",
            "No clicker in barebow.",
            draws.clicker_in_barebow,
            source="wa-clicker-barebow",
        ),
        _rule(
            "launch-load",
            "Draw weight against critical launch force.",
            arrows.launch_load,
            *FACT_FIELDS["launch_load"],
            source="project-launch-load",
        ),
        _rule(
            "arrow-mass",
            "Arrow mass for the draw weight.",
            arrows.arrow_mass,
            *FACT_FIELDS["arrow_mass"],
            "bow.draw_weight",
            source="astm-f1544",
        ),
        _rule(
            "grown-draw-weight",
            "Shaft and arrow mass once the draw has grown.",
            arrows.grown_draw_weight,
            "archer.growth_allowance",
            "bow.draw_weight",
            concerns="archer.growth_allowance",
            source="force-per-inch",
        ),
        _rule(
            "maker-arrow-mass",
            "Minimum arrow mass of the bow's maker.",
            arrows.maker_arrow_mass,
            *FACT_FIELDS["arrow_mass"],
            "bow.minimum_arrow_mass",
            source="bow-maker",
        ),
        _rule(
            "balance-range",
            "Front of centre in the common range.",
            arrows.balance_range,
            *FACT_FIELDS["front_of_centre"],
            source="balance-range",
        ),
        _rule(
            "maximum-draw",
            "Draw against the bow maker's limit.",
            draws.maximum_draw,
            "bow.maximum_draw",
            source="bow-maker",
        ),
        _rule(
            "shaft-diameter",
            "Shaft diameter for competition.",
            arrows.shaft_diameter,
            "arrow.shaft.outside_diameter",
            source="wa-shaft-diameter",
        ),
        _rule(
            "wood-from-compound",
            "Wooden arrows and compound bows.",
            arrows.wood_from_compound,
            "arrow.shaft.material",
            concerns="bow.kind=compound",
            source="wood-compound",
        ),
        _rule(
            "arm-span",
            "Arm span against draw.",
            draws.arm_span,
            "archer.arm_span",
            source="arm-span",
        ),
        _rule(
            "measured-against-parts",
            "Weighed mass and balance point against the parts.",
            arrows.measured_against_parts,
            "arrow.mass|arrow.balance_point",
            "arrow.shaft.mass_per_length",
            "arrow.point.mass",
            source="project-tolerance",
        ),
        _rule(
            "draw-weight-basis",
            "Draw weight at this archer's draw.",
            draws.draw_weight_basis,
            "bow.draw_weight",
            source="force-per-inch",
        ),
    ]
