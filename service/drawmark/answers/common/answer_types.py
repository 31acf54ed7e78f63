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
Mass = Annotated[Measure, Kind("mass")]
Force = Annotated[Measure, Kind("force")]
Frequency = Annotated[Measure, Kind("frequency")]
StaticSpine = Annotated[Measure, Kind("static_spine")]
Number = Annotated[Measure, Kind("number")]
Percent = Annotated[Measure, Kind("percent")]
Texts = list[str] | msgspec.Raw
"""Texts, encoded where they are the same in many answers."""

Certainty = Literal["determinate", "indeterminate"]
Status = Annotated[
    Certainty,
    "`determinate` where every rule that may set a floor was evaluated; else "
    "`indeterminate`, and `unevaluated` names those that were not.",
]
OverallVerdict = Annotated[
    Verdict,
    "Worst of what the rules found, in this order: `stop`, the arrow must not be shot; "
    "`indeterminate`, it could not be told, so not to be shot either until it can; `caution`, only "
    "with what the findings ask for; `pass`, no figure speaks against it.",
]
ArrowLength = Annotated[Length, "Arrow length: bottom of the nock slot to the shaft's front end."]
ArrowMass = Annotated[Mass, "Mass of the arrow."]
ThePointMass = Annotated[Mass, "The point's mass."]
FrontOfCentre = Annotated[
    Percent, "Balance point ahead of the middle of the arrow, in per cent of its length."
]
LaunchLoad = Annotated[Number, "Draw weight over critical launch force."]
Convention = Annotated[str, "Convention in which draws are given here."]
ArcherId = Annotated[str, "The archer's `id`."]
SetId = Annotated[str, "The set's `id`."]
PlaceInRequest = Annotated[int, "Place in the request, from 0."]
TubeLength = Annotated[Length, "Length of the shaft without what the nock stands out."]
PluginName = Annotated[str, "The plugin; `core` for the service's own rules."]
RuleName = Annotated[str, "The rule, of that plugin."]
SourceKey = Annotated[
    str, "Key of the source in `/v1/sources`, `request`, or a plugin's own words."
]
NotTold = Annotated[Texts, "What no figure can tell; look at it."]


def status_of(determinate: bool) -> Certainty:
    """Name whether every rule that may set a floor was evaluated."""
    return "determinate" if determinate else "indeterminate"
