"""How the answers of the season are shown."""

from __future__ import annotations

from typing import Any

from drawmark.client import Answer
from drawmark.demo.report import Row, assignments, bullets, figure, indented, table


def of_growth(answer: Answer) -> str:
    """Show a draw month by month."""
    curve = answer["growth_curve"]
    rows: list[Row] = [
        (
            (
                str(one["month"]),
                figure(one["draw_length"]),
                figure(one["median_draw_length"]),
                figure(one["minimum"]),
                one["verdict"],
            ),
            (),
        )
        for one in curve["months"]
    ]
    shown = table(("month", "draw, 97th centile", "median", "minimum", "present arrow"), rows)
    told = f"Measure again by month {curve['check_by_month']}."
    if "buy_by_month" in curve:
        told += f" Have longer arrows by month {curve['buy_by_month']}."
    return f"{shown}\n{indented(told)}"


def of_order(answer: Answer) -> str:
    """Show what is ordered, and why."""
    rows: list[Row] = [
        (
            (
                one["shaft"],
                str(one["count"]),
                "uncut" if one["uncut"] else figure(one["arrow_length"]),
                ", ".join(one["sets"]),
            ),
            (),
        )
        for one in answer["lines"]
    ]
    reasons = [f"{one['id']}: {one['reason']}" for one in answer["sets"]]
    return "\n".join([table(("shaft", "count", "length", "for"), rows), *map(indented, reasons)])


def of_delivery(answer: Answer) -> str:
    """Show what arrived, arrow by arrow."""
    (one,) = answer["sets"]
    rows: list[Row] = [
        (
            (
                str(each["index"] + 1),
                figure(each["length"]),
                each["against_order"].replace("_", " "),
                each["verdict"],
                each["use"].replace("_", " "),
            ),
            (),
        )
        for each in one["arrows"]
    ]
    shown = table(("arrow", "length", "against the order", "verdict", "use"), rows)
    told = f"The shortest will do for a draw of {figure(one['longest_safe_draw'])}."
    return f"{shown}\n{indented(told)}"


def of_details(answer: Answer) -> str:
    """Show who shoots what, and with whom."""
    told = [
        f"{one['archer']} gets {one['arrows']} arrows and shares the set with "
        f"{', '.join(one['shared_with']) or 'nobody'}."
        for one in answer["assignments"]
    ]
    return "\n".join([assignments(answer), *map(indented, told)])


def of_clicker(answer: Answer) -> str:
    """Show where the blade goes."""
    reach = "The clicker reaches there." if answer["within_range"] else answer["reason"]
    return bullets(
        [
            f"The blade goes from {figure(answer['blade_before'])} to "
            f"{figure(answer['blade_after'])} past the pivot point. {reach}",
            f"If nobody moves it, the draw becomes {figure(answer['draw_if_not_moved'])}.",
            answer["sight"]["advice"],
            f"Fit check after that: {answer['verdict']}, minimum {figure(answer['minimum'])}.",
        ]
    )


def of_mass(answer: Answer) -> str:
    """Show what brings an arrow to its mass."""
    found = answer["to_reach_wanted_mass"]
    point, shaft = found["by_point"], found["by_shaft"]
    ways = (
        (f"a point of {figure(point['point_mass'])}", point),
        (f"a shaft of {figure(shaft['mass_per_length'])}", shaft),
    )
    return bullets(
        [
            f"The arrow weighs {figure(answer['mass'])}; {found['grains_per_pound']:g} grains per "
            f"pound are {figure(found['mass'])}.",
            *(
                f"With {what} the front of centre is {figure(way['front_of_centre'])} % and the "
                f"arrow acts like a {figure(way['equivalent_static_spine']['free_vibration'])} "
                "spine by free vibration, "
                f"{figure(way['equivalent_static_spine']['launch'])} by launch force."
                for what, way in ways
            ),
        ]
    )


def of_replacement(answer: Answer) -> str:
    """Show what each shaft would be made into."""
    rows: list[Row] = [
        (
            (
                one["id"],
                figure(one["made"]["length"]),
                figure(one["made"]["point_mass"]),
                figure(one["made"]["mass_difference"]),
                one["verdict"],
            ),
            (one["reason"],),
        )
        for one in answer["candidates"]
    ]
    return table(("shaft", "length", "point", "heavier by", "verdict"), rows)


def of_sets(answer: Answer) -> str:
    """Show which arrows make a set."""
    told = [
        f"Arrows {_numbers(one['arrows'])} make a set. Its shortest is "
        f"{figure(one['shortest_length'])}."
        for one in answer["sets"]
    ]
    told += [
        f"Arrows {_numbers(one['arrows'])} need {one['needed']} more."
        for one in answer["incomplete"]
    ]
    return bullets([*told, f"In no set: {_numbers(answer['left_over'])}."])


def _numbers(arrows: list[dict[str, Any]]) -> str:
    return ", ".join(str(one["index"] + 1) for one in arrows)
