"""The words in which answers are declared: kinds of figures, and members that many have.

An answer is a TypedDict. Each member is annotated with what it means; the document takes its
schema and its meanings from that.
"""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

import msgspec

from drawmark.rules.model import Measure, MeasureKind, Verdict


class Kind(NamedTuple):
    """What a figure measures, in the annotation of a member."""

    name: MeasureKind


Length = Annotated[Measure, Kind("length")]
Distance = Annotated[Measure, Kind("distance")]
Mass = Annotated[Measure, Kind("mass")]
Force = Annotated[Measure, Kind("force")]
MassPerLength = Annotated[Measure, Kind("mass_per_length")]
Frequency = Annotated[Measure, Kind("frequency")]
StaticSpine = Annotated[Measure, Kind("static_spine")]
Number = Annotated[Measure, Kind("number")]
Percent = Annotated[Measure, Kind("percent")]
Texts = list[str] | msgspec.Raw
"""Texts, encoded where they are the same in many answers."""

Certainty = Literal["determinate", "indeterminate"]
Status = Annotated[
    Certainty,
    "`determinate` if every rule that may set a floor was evaluated. Otherwise "
    "`indeterminate`: see `unevaluated`.",
]
OverallVerdict = Annotated[
    Verdict,
    "The worst finding decides. `stop`: do not shoot the arrow. `indeterminate`: it could not be "
    "judged, so do not shoot it until it can. `caution`: shoot it only as the findings say. "
    "`pass`: no rule objects.",
]
ArrowLength = Annotated[
    Length, "Arrow length, from the bottom of the nock slot to the front end of the shaft."
]
ArrowMass = Annotated[Mass, "Mass of the arrow."]
ThePointMass = Annotated[Mass, "Mass of the point."]
BalanceNote = Annotated[str, "What is unusual about the balance with this point."]
FrontOfCentre = Annotated[
    Percent,
    "How far the balance point lies ahead of the middle of the arrow, in per cent of its length.",
]
LaunchLoad = Annotated[Number, "Draw weight divided by the critical launch force."]
Convention = Annotated[str, "Convention of the draw lengths in this answer."]
ArcherId = Annotated[str, "`id` of the archer."]
SetId = Annotated[str, "`id` of the set."]
PlaceInRequest = Annotated[int, "Place in the request, from 0."]
TubeLength = Annotated[
    Length, ("Arrow length without the part of the nock that stands out: what the saw needs.")
]
PluginName = Annotated[str, "Name of the plugin; `core` for the service's own rules."]
RuleName = Annotated[str, "Name of the rule in that plugin."]
SourceKey = Annotated[
    str, "Key of the source in `/v1/sources`, or `request`, or the plugin's own words."
]
NotTold = Annotated[Texts, "What no figure can tell. Check these before shooting."]


def status_of(determinate: bool) -> Certainty:
    """Name whether every rule that may set a floor was evaluated."""
    return "determinate" if determinate else "indeterminate"
