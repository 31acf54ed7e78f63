"""The usual cautions, in plain words, and what figures cannot tell."""

from __future__ import annotations

from typing import Final

AUTHORITY: Final = (
    "The range's rules, the governing body's rules, the makers' limits and a qualified coach come "
    "before any figure here."
)
DRAWING: Final = (
    "An arrow drawn off the rest can be driven into the bow hand. Never draw a doubtful arrow to "
    "test it: measure with a long marked arrow, 2 in or more past any expected draw, on a light "
    "bow, on the shooting line, pointed at the target."
)
BREAKING: Final = (
    "A cracked, damaged or far too weak shaft can shatter: flex it, gloves on and away from the "
    "face, look at it before shooting, and do not shoot it in doubt."
)
LIGHT: Final = (
    "Never release a bow without an arrow, nor with an arrow lighter than the bow's maker allows."
)
CUTTING: Final = (
    "A cut cannot be undone. Cut with a high-speed abrasive saw, eye protection, dust extraction "
    "and a respirator; carbon dust is harmful; no hacksaw."
)
NO_MATCH: Final = (
    "These figures compare an arrow with itself. They do not say which spine suits a bow: that is "
    "the shaft maker's chart."
)
CHANCE: Final = (
    "The chance of cutting too far is right only if the plan's assumptions hold: they were "
    "compared with a simulation, never with arrows."
)
SHEET: Final = (
    "Arrow length runs from the bottom of the nock slot to the shaft's front end; the tube length, "
    "without the nock, is what the saw needs. Have the lengths confirmed before anything is cut."
)
FEW_DRAWS: Final = (
    "Fewer than six draws tell nothing of how the draw varies: the longest one known stands for "
    "it, and the usual inch past the back of the bow is the only margin."
)
JUST_ENOUGH: Final = (
    "A length that serves several is just enough for the longest draw among them: there the fit "
    "check gives a caution, and a coach should look at it."
)
LONGEST: Final = (
    "How far an arrow may be drawn holds for the draw weight that was given: a bow pushes harder "
    "the further it is drawn, so have a longer draw checked anew."
)
MOVED_BLADE: Final = (
    "The figures hold for the clicker's blade where it is now: moving it means a new check, and "
    "growth is not allowed for."
)
MOVED_STOP: Final = (
    "The figures hold for the draw stop as it is set now: moving it means a new check, and growth "
    "is not allowed for."
)

WEAK: Final = (
    "At this draw weight the shaft is weak for the push of the string: a coach should look at it."
)
FAR_TOO_WEAK: Final = (
    "At this draw weight the shaft is far too weak for the push of the string and may break: do "
    "not shoot it."
)

HANGING: Final = (FEW_DRAWS, MOVED_BLADE, MOVED_STOP)
"""Those that hang on what is known of the draw and on what ends it."""
LENGTH: Final = (AUTHORITY, DRAWING)
FIT: Final = (AUTHORITY, DRAWING, BREAKING, LIGHT)
WORK: Final = (AUTHORITY, CUTTING, NO_MATCH)

NOT_TOLD: Final = (
    "cracks and damage",
    "loose points",
    "fit of the nock on the string",
    "state of the bow",
    "the archer's skill",
)
