"""How stiff an arrow acts at each length of a cut, by both measures.

Places are bending stiffness [N m^2]: what lies further right acts stiffer.
"""

from __future__ import annotations

from drawmark.answers import spine
from drawmark.answers.common.arrow_state import ArrowState
from drawmark.answers.common.context import Context
from drawmark.answers.drawing.chart import Drawing, Row, chart_of

_HEADING = "Equivalent static spine: ◆ by free vibration, ◇ by launch force"


def drawing(request: spine.Request, context: Context) -> Drawing:
    """Place both measures at every length."""
    answer = spine.answer(request, context)
    states = [("as it is", answer["before"])]
    states += [("cut", one) for one in answer.get("steps", ())]
    if "steps" not in answer:
        states.append(("changed", answer["after"]))
    rows = [_row(words, state) for words, state in states]
    rows[0]["heading"] = _HEADING
    return chart_of(
        "How stiff the arrow acts",
        rows,
        answer,
        told=[
            "Further right acts stiffer. The two measures name the ends of a range. Do not "
            "average them.",
            "How short is safe depends on archer and bow. Ask for a fit check.",
        ],
    )


def _row(words: str, state: ArrowState) -> Row:
    both = state["equivalent_static_spine"]
    vibration, launch = both["free_vibration"], both["launch"]
    ends = sorted((float(vibration.value), float(launch.value)))
    return {
        "name": "state",
        "words": words,
        "named": state["length"],
        "marks": [
            {"name": "free-vibration", "at": float(vibration.value)},
            {"name": "launch", "at": float(launch.value)},
        ],
        "bands": [{"name": "measures", "low": ends[0], "high": ends[1]}],
        "figures": [vibration] if ends[0] == ends[1] else [vibration, launch],
    }
