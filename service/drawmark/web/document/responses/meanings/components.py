"""What each component of the answers is, in a sentence."""

from __future__ import annotations

from typing import Final

COMPONENTS: Final[dict[str, str]] = {
    "Problem": "What went wrong, as RFC 9457 words it.",
    "NotChecked": "Something that was not checked, since the request does not tell enough.",
    "DerivationTerm": "A length that is added up to another.",
    "DrawControl": "What ends the draw: what the request claims, and what counts.",
    "Floor": "A length below which one rule holds the arrow to be unsafe, with its reason.",
    "Finding": "What one rule found.",
    # Lengths, spine, balance and fit
    "ArrowState": "An arrow at one length: how it bends, vibrates and balances.",
    "MinimumLengthAnswer": "How short is too short to be safe, and why.",
    "RecommendedLengthAnswer": "How long the arrow should be, and what to do to get there.",
    "LongestDrawAnswer": "How far the arrow may be drawn, and what limits it.",
    "SpineAnswer": "The arrow's stiffness before and after a change.",
    "BalanceAnswer": "The arrow's mass and where it balances.",
    "FitCheckAnswer": "May this archer safely shoot these arrows from this bow: a verdict and why. "
    "With detail `verdict` only what decides it.",
    "BatchAnswer": "A result or a problem for each fit check, and once what holds for all.",
    # Cutting
    "IdealLength": "Median and ends of the 90 % interval.",
    "MeasureDecision": "What one measure of stiffness alone would decide.",
    "CutState": "The arrow as it is, and whether it may be shot.",
    "CutStep": "The arrow after one more cut, and whether it may be shot.",
    "PointSolution": "A point that would do instead of a cut, or why there is none.",
    "Remedy": "Something that helps where a cut does not, with its fit check.",
    "CutPlanAnswer": "Whether and where to cut next, and how likely that is to be too much.",
    "OrderLine": "Shafts of an order that are alike.",
    "OrderedSet": "How one set is ordered, and why.",
    "OrderAnswer": "Which shafts to order, and how long to have them cut.",
    # A whole club
    "Assignment": "The set that one archer shoots.",
    "Unequipped": "An archer without a set, why, and what would help.",
    "AssignmentsAnswer": "Who shoots which set, and who has none.",
    "Label": "How far one set may be drawn.",
    "LabelsAnswer": "How far each set of the rack may be drawn, and until when that is enough.",
    "StockLength": "One length to buy, and for whom.",
    "LengthsAnswer": "Which few lengths serve everyone, and what they waste.",
    "OddArrow": "An arrow that differs from its set in one figure.",
    "ConsistencyAnswer": "Which arrows do not belong to their set.",
}
