"""The invented club's rack, and its questions about all archers at once."""

from __future__ import annotations

from typing import Any, Final

from drawmark.demo.club import EVENING, archer, arrow, q, without_coach

ARROWS: Final = 6
_SETS: Final = (
    ("green", 27, 1100, 70, 19),
    ("white", 28.5, 900, 70, 12),
    ("blue", 29.5, 800, 85, 14),
    ("red", 30.5, 620, 90, 12),
    ("black", 31.5, 500, 100, 6),
    ("silver", 29.5, 400, 110, 6),
)
_KIND: Final = {"kind": "recurve"}

RACK: Final[list[dict[str, Any]]] = [
    {"id": name, "arrow": arrow(length, spine, point)} for name, length, spine, point, _ in _SETS
]
# A coach has watched them with their own arrows, not with those of the rack.
ARCHERS: Final[list[dict[str, Any]]] = [
    {"id": name, "archer": without_coach(body["archer"]), "bow": body["bow"]}
    for name, _, body in EVENING
]

WHO_SHOOTS_WHICH: Final[dict[str, Any]] = {
    "archers": ARCHERS,
    "sets": [{**one, "count": count} for one, (*_, count) in zip(RACK, _SETS, strict=True)],
    "arrows_per_archer": ARROWS,
}
HOW_FAR: Final[dict[str, Any]] = {
    "sets": RACK,
    "bow": _KIND,
    "archer": archer(24),
    "growth_rate": q(1.5),
    "label_increment": q(0.25),
}
WHICH_LENGTHS: Final[dict[str, Any]] = {
    "archers": ARCHERS,
    "most_lengths": 4,
    "arrow": {"point": {"exposed_length": q(0.7)}},
    "season": {"months": 6, "growth_rate": q(1)},
    "arrows_per_archer": ARROWS,
    "saw_increment": q(0.25),
}
