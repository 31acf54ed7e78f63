"""An invented archer, bow and arrow for tests of cut plans and orders."""

from __future__ import annotations

import dataclasses

import msgspec

from drawmark.answers import cut_plan
from drawmark.answers.common.context import Context
from drawmark.fitting.cutting.offsets import Shots
from drawmark.fitting.cutting.saw_limits import Cutting
from drawmark.fitting.model import Archer, Arrow, Bow, ClickerRange, Fletching, Nock, Point, Shaft
from drawmark.fitting.units import INCH, UNITS
from drawmark.rules.registry import load
from rules.bench import ruleset

CORE = load().find("core")
CONTEXT = Context(ruleset=ruleset(CORE))
PROJECTION = 0.010

# 26 in to the pivot point: floor 26 + 1 3/4 + 1 in, window to 29 3/4, figure 29 1/4 once practised
# (common practice, no source). The draw no longer grows, so shots may lead to a cut.
ARCHER = Archer(
    draw_length=26 * INCH,
    draw_length_convention="to_pivot",
    experience="practised",
    growth_allowance=0.0,
)
FLOOR = 28.75 * INCH
FIGURE = 29.25 * INCH
BOW = Bow(kind="recurve", draw_weight=140.0, draw_weight_basis="own_draw")
ARROW = Arrow(
    length=31 * INCH,
    shaft=Shaft(
        static_spine=float(UNITS["astm"].to_si(600.0)),
        mass_per_length=float(UNITS["gr/in"].to_si(7.0)),
    ),
    point=Point(mass=0.0065, exposed_length=0.018),
    nock=Nock(mass=0.0006, projection=PROJECTION),
    fletching=Fletching(mass=0.0008, rear_edge=0.03, length=0.045),
)
CLICKER = dataclasses.replace(ARCHER, draw_control="clicker")
# The blade lets tips leave from 26 + 1 to 26 + 3 in; the point takes 18 mm of that: no arrow
# between 28.29 and 28.75 in is safe with this draw.
CLICKER_BOW = dataclasses.replace(
    BOW, rest_position=0.0, clicker_range=ClickerRange(near=1 * INCH, far=3 * INCH)
)


def arrow_of(length, **changes):
    return dataclasses.replace(ARROW, length=length, **changes)


def shot(length, offset, **changes):
    given = {"distance": 18.0, "bare_count": 3, "fletched_count": 3, "group_width": 0.06}
    return Shots(length=length, offset=offset, **(given | changes))


def ask(*shots, archer=ARCHER, bow=BOW, arrow=ARROW, context=CONTEXT, saw_increment=None, **wanted):
    """Answer of a cut plan, its measures not yet in any unit."""
    request = cut_plan.Request(
        archer=archer,
        bow=bow,
        arrow=arrow,
        shots=shots,
        cutting=Cutting(**wanted),
        saw_increment=saw_increment,
    )
    return cut_plan.answer(request, context)


def texts_of(encoded):
    """Texts that an answer holds encoded."""
    return msgspec.json.decode(encoded)


def lengths_in(answer):
    """Every length that an answer advises to cut to [m]."""
    found = [step["length"].value for step in answer["steps"]]
    for one in (answer, *answer.get("measures", ())):
        if "next_length" in one:
            found.append(one["next_length"].value)
    if "point_for_length" in answer:
        found.append(answer["point_for_length"]["length"].value)
    return found
