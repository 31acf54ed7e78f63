"""The usual cautions, in plain words, and what figures cannot tell."""

from __future__ import annotations

from typing import Final

AUTHORITY: Final = (
    "The range's rules, the governing body's rules, the makers' limits and a qualified coach "
    "come before any figure here."
)
DRAWING: Final = (
    "An arrow drawn off the rest can be driven into the bow hand. Never draw a doubtful arrow "
    "to test it. Measure on the shooting line, pointed at the target: use a light bow and a "
    "marked arrow at least 2 in longer than any expected draw."
)
MEASURING: Final = (
    "Measure an arrow from the bottom of the nock slot to the shaft's end, not to the point's "
    "tip. Measured to the tip, an arrow that is too short looks safe."
)
BREAKING: Final = (
    "A cracked, damaged or far too weak shaft can shatter. Before shooting, look at each "
    "shaft and flex it, with gloves on and away from the face. Do not shoot a doubtful one."
)
LIGHT: Final = (
    "Never release a bow without an arrow, or with an arrow lighter than the bow's maker allows."
)
CUTTING: Final = (
    "A cut cannot be undone. Cut with a high-speed abrasive saw, never a hacksaw. Wear eye "
    "protection and a respirator, and extract the dust: carbon dust is harmful."
)
NO_MATCH: Final = (
    "These figures compare an arrow with itself. They do not say which spine suits a bow. Use "
    "the shaft maker's chart for that."
)
REPLACING: Final = (
    "These figures compare arrows with arrows. They say nothing about tune, nor which spine suits "
    "a bow. Shoot one arrow of the new shaft first, longer than given here."
)
CHANCE: Final = (
    "The chance of cutting too far is right only if the plan's assumptions hold. They were tried "
    "in a simulation, never with real arrows."
)
SHEET: Final = (
    "Arrow length runs from the bottom of the nock slot to the front end of the shaft. The "
    "saw needs the tube length, which is without the nock. Have the lengths confirmed before "
    "anything is cut."
)
SHORTEST: Final = (
    "The shortest arrow decides how far a set may be drawn. Check the set with "
    "`shortest_length`, or take that arrow out first."
)
MIXED: Final = (
    "These arrows differ more than is usual in one set. Sort them by length and mass before you "
    "hand them out."
)
SORTED: Final = (
    "The sets are alike in the figures that were measured. Look for other points, nocks, vanes and "
    "shafts before you hand them out."
)
FEW_DRAWS: Final = (
    "Fewer than six draws do not show how the draw varies. At least an inch is allowed for it. "
    "Measure twelve draws, also when the archer is tired."
)
LONGEST: Final = (
    "The longest safe draw holds only for the given draw weight. A bow pushes harder the further "
    "it is drawn, so check a longer draw again."
)
MOVED_BLADE: Final = (
    "The figures hold only while the clicker's blade stays where it is. Check again if it is "
    "moved. They do not allow for growth."
)
MOVED_STOP: Final = (
    "The figures hold only while the draw stop stays as it is set. Check again if it is moved. "
    "They do not allow for growth."
)

WEAK: Final = (
    "At this draw weight the shaft is weak for the push of the string. Have a coach look at it."
)
FAR_TOO_WEAK: Final = (
    "At this draw weight the shaft is far too weak for the push of the string and may break. "
    "Do not shoot it."
)

STRAINS: Final = (
    "The wanted arrow is lighter than 6 grains per pound of draw weight. Light arrows strain bow "
    "and limbs. Look up what the bow's maker allows."
)

TOO_LIGHT: Final = (
    "The wanted arrow is lighter than 5 grains per pound of draw weight. A fit check would stop "
    "it. Do not make it for this bow."
)

HANGING: Final = (FEW_DRAWS, MOVED_BLADE, MOVED_STOP)
"""Cautions that depend on what is known of the draw and on its control."""
LENGTH: Final = (AUTHORITY, DRAWING)
FIT: Final = (AUTHORITY, DRAWING, MEASURING, BREAKING, LIGHT)
WORK: Final = (AUTHORITY, CUTTING, NO_MATCH)

NOT_TOLD: Final = (
    "cracks and damage",
    "loose points",
    "fit of the nock on the string",
    "state of the bow",
    "the archer's skill",
)
