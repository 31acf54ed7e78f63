"""Where each constant comes from, and how well that is known.

Marks: ``read`` in the document or on a page that reproduces it; ``secondary``, read only in
another's account of it; ``memory``, not found again; ``derived`` from definitions;
``practice``, common practice without a source; ``default``, chosen by this project.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Mark = Literal["read", "secondary", "memory", "derived", "practice", "default"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Source:
    """A source of a constant or a limit.

    Parameters
    ----------
    key : str
        Name by which answers refer to it.
    mark : Mark
        How well it is known.
    text : str
        What it says, and where.
    """

    key: str
    mark: Mark
    text: str


_SOURCES: Final = (
    Source(
        key="amo-draw-length",
        mark="read",
        text="AMO Standards, Field Publication FP-3 (2000): draw length is the distance at full "
        "draw from the nocking point to the pivot point of the grip, plus 1 3/4 in.",
    ),
    Source(
        key="astm-f1435",
        mark="read",
        text="ASTM F1435-04, 2.1.2: arrow length runs from the bottom of the nock slot to a "
        "point near the front of the assembly. Here that point is the front end of the "
        "shaft.",
    ),
    Source(
        key="foc-formula",
        mark="secondary",
        text="Front of centre = 100 (A - L/2) / L. A is the distance from the nock slot to the "
        "balance point, L the arrow length. The formula's text in ASTM F1435 was not read.",
    ),
    Source(
        key="astm-f2031",
        mark="read",
        text="ASTM F2031-05 (2014): static spine is the deflection under a mass at the middle of "
        "a fixed span. Reported withdrawn in 2023. The 28 in span and 1.94 lb are "
        "secondary.",
    ),
    Source(
        key="wood-spine",
        mark="secondary",
        text="Wooden arrows: spine is 26 over the deflection in inches, on a 26 in span under 2 "
        "lb.",
    ),
    Source(
        key="astm-f1544",
        mark="read",
        text="ASTM F1544-11 rates the speed of bows with an arrow of 5 grains per pound of peak "
        "draw force. It is a condition of a speed test, not a safety limit.",
    ),
    Source(
        key="wa-shaft-diameter",
        mark="read",
        text="World Archery: a shaft is at most 9.3 mm thick (Archery Canada's interpretation of "
        "Book 3 chapter 11 and Book 4 chapter 22).",
    ),
    Source(
        key="wa-clicker-barebow",
        mark="secondary",
        text="World Archery: barebow archers may not use a draw check indicator (doi "
        "10.1177/17543371231213420).",
    ),
    Source(
        key="prediction-interval",
        mark="derived",
        text=(
            "The factor k(n) is Student's t quantile (one-sided, 99.865 %) times sqrt(1 + 1/n). "
            "It is the standard prediction interval for the next of n normal draws."
        ),
    ),
    Source(
        key="spread-prediction",
        mark="derived",
        text="The posterior prediction of a normal draw. Its prior counts as 3 degrees of freedom "
        "and alone predicts the base: 1 in, 10 mm if settled, 6 mm with a clicker or a draw stop. "
        "The prior is chosen by this project, without a source.",
    ),
    Source(
        key="deviation-bound",
        mark="derived",
        text="The lower confidence bound of a normal deviation: s sqrt((n - 1) / chi-square). "
        "Any textbook of statistics.",
    ),
    Source(
        key="margin-one-inch",
        mark="practice",
        text="An arrow reaches past the back of the bow: 1 to 2 in for the settled, 2 to 3 in for "
        "beginners; 1.5 in is the usual figure, 1 in the low end. Common practice, no source.",
    ),
    Source(
        key="arm-span",
        mark="practice",
        text="Draw length is about arm span / 2.5. Common practice, no source. One author says "
        "that crude methods can vary by as much as six inches.",
    ),
    Source(
        key="force-per-inch",
        mark="secondary",
        text="Draw weight changes by 2 to 3 lbf an inch of draw from 40 lbf up. Common practice, "
        "read at second hand. For lighter bows this project takes a 20th to a 13th of the weight, "
        "without a source. That bows are rated at 28 in is from memory.",
    ),
    Source(
        key="trade-spine-rule",
        mark="practice",
        text="One inch of arrow length is worth about 5 lbf of draw weight. Common practice, no "
        "source.",
    ),
    Source(
        key="light-arrow",
        mark="practice",
        text="An arrow below 6 grains per pound strains bow and limbs, and may end the bow's "
        "warranty: its maker decides. Common practice, no source.",
    ),
    Source(
        key="wood-arrow-mass",
        mark="practice",
        text="Wooden arrows and longbows need at least 8 grains per pound. Common practice, no "
        "source.",
    ),
    Source(
        key="wood-compound",
        mark="practice",
        text="Do not shoot wooden arrows from a compound bow unless their maker says so. Common "
        "practice, no source.",
    ),
    Source(
        key="balance-range",
        mark="memory",
        text="Front of centre usually lies between 7 and 16 %. From memory, common practice.",
    ),
    Source(
        key="rear-parts",
        mark="default",
        text="A nock weighs up to 15 grains. Vanes weigh up to 30 grains together, from 1 to 4 in "
        "past the nock slot. Chosen by this project without a source, for a range of balance.",
    ),
    Source(
        key="euler-beam",
        mark="read",
        text="Euler-Bernoulli beam; Thomson, Theory of Vibration with Applications, appendix D.",
    ),
    Source(
        key="simple-beam",
        mark="derived",
        text="Centre-loaded simple beam: deflection = P L^3 / (48 E I). Any handbook of mechanics.",
    ),
    Source(
        key="launch-buckling",
        mark="derived",
        text="The arrow must not buckle under the force that accelerates it: Kooi's second "
        "matching criterion, History of Technology 1998, 20:125-137 (abstract read). The "
        "model is this project's. The shaft's front end and the bottom of the nock slot are held "
        "sideways, and the nock is rigid. The compression at a place is in proportion to the mass "
        "ahead of it.",
    ),
    Source(key="bow-maker", mark="default", text="The limit stated for this bow by its maker."),
    Source(key="request", mark="default", text="A figure of the request itself."),
    Source(
        key="project-margin",
        mark="default",
        text="A margin chosen by this project, without a source.",
    ),
    Source(
        key="project-launch-load",
        mark="default",
        text="Caution above 1.8, stop above 2.2; for wooden shafts 2.6 and 3.2. Chosen by this "
        "project without a source, to keep arrows from breaking. Wooden shafts matched by the "
        "trade's rule come to 2.1 to 2.2, by this project's formula, and are shot every day. "
        "These limits say nothing of tune.",
    ),
    Source(
        key="range-factors",
        mark="memory",
        text="Mean d2 and deviation d3 of the range of normal samples, computed here from order "
        "statistics. Printed tables, as in ASTM E2587, are cited from memory.",
    ),
    Source(
        key="side-of-miss",
        mark="practice",
        text="With a finger release, bare shafts that land on the string hand's side act weak; "
        "on the other side they act stiff. Common practice, no source.",
    ),
    Source(
        key="cut-prior",
        mark="default",
        text="Weak assumptions about how bare shafts answer to length, and an error of 3 cm at "
        "18 m that all rounds share. Chosen by this project without a source. No published data "
        "of offset against length was found.",
    ),
    Source(
        key="cut-policy",
        mark="default",
        text="When to cut, to shoot again and to stop. Chosen by this project on a simulation, "
        "without a source.",
    ),
    Source(
        key="project-tolerance",
        mark="default",
        text="How far two statements may differ before the answer says so. Chosen by this "
        "project, without a source.",
    ),
    Source(
        key="project-launch-middle",
        mark="default",
        text="Launch loads of typical pairs come to 1.0 to 1.7. Sets are given out to come near "
        "the middle, 1.35. Chosen by this project, without a source.",
    ),
    Source(
        key="project-consistency",
        mark="default",
        text=(
            "An arrow is odd if it is more than 3.5 scaled median absolute deviations from the "
            "median of its set. It must also differ by more than 1 mm, 3 grains, 3 mm of balance "
            "or 5 % of stiffness. In a set of any spread it is odd beyond 6 mm, 10 grains, 10 mm "
            "of balance or 10 % of stiffness. Chosen by this project, without a source."
        ),
    ),
    Source(
        key="set-tolerance",
        mark="practice",
        text="The arrows of a set are usually cut within 1/16 in of each other and weigh within 5 "
        "grains of each other. Common practice, no source.",
    ),
    Source(
        key="normal-mad",
        mark="derived",
        text="1.4826 times the median absolute deviation is the standard deviation of normal "
        "figures. The factor is 1 over the normal quantile at three quarters.",
    ),
    Source(
        key="tanner-davies",
        mark="read",
        text="Tanner and Davies, height velocity of North American boys: the 97th centile is "
        "11.9 cm a year at 13.5. No yearly figures for girls were found, so this project "
        "takes that figure for every junior from 10 to 15.",
    ),
    Source(
        key="growth-ages",
        mark="default",
        text="Where no table was found, below 8 and for girls below 16, 11.9 cm a year is taken. "
        "From 16 to 20 the boys' figures for 16 are held, and none grows from 20 on. A "
        "draw is measured again after three months. Chosen by this project, without a source.",
    ),
    Source(
        key="abbassi-1998",
        mark="read",
        text="Abbassi, Pediatrics 1998, 102(S3):507-511: mean peak height velocity 9.5 cm a year "
        "for boys (13.5 years), 8.3 for girls (11.5 years).",
    ),
    Source(
        key="draw-growth",
        mark="derived",
        text="Draw length grows by height velocity / 2.5, on the assumption that arm span grows "
        "like height.",
    ),
)

SOURCES: Final[dict[str, Source]] = {source.key: source for source in _SOURCES}
