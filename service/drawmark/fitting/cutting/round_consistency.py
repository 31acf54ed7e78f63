"""Whether rounds of shots are consistent with each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from drawmark.fitting import limits
from drawmark.fitting.cutting.offsets import Evidence


def _misfit(evidence: Sequence[Evidence]) -> float:
    """Misfit, beyond noise, of the best fit that never falls as length rises."""
    blocks: list[tuple[float, float, list[Evidence]]] = []
    for length in sorted({each.length for each in evidence}):
        group = [each for each in evidence if each.length == length]
        weight = sum(each.deviation**-2 for each in group)
        mean = sum(each.offset * each.deviation**-2 for each in group) / weight
        while blocks and blocks[-1][0] > mean:
            other, share, members = blocks.pop()
            mean = (mean * weight + other * share) / (weight + share)
            weight += share
            group = members + group
        blocks.append((mean, weight, group))
    squares = sum(
        ((each.offset - mean) / each.deviation) ** 2 for mean, _, group in blocks for each in group
    )
    return squares - (len(evidence) - len(blocks))


def _least_misfit(evidence: Sequence[Evidence]) -> float:
    misfit = _misfit(evidence)
    if misfit > limits.CONTRADICTION and len(evidence) >= limits.SPARE_ROUNDS:
        rest = [[*evidence[:i], *evidence[i + 1 :]] for i in range(len(evidence))]
        misfit = min(_misfit(others) for others in rest)
    return misfit


def find_contradiction(evidence: Sequence[Evidence], hand: str | None = None) -> str | None:
    """Tell why rounds contradict each other, if they do.

    A longer arrow is weaker, so offsets must not fall as length rises. The misfit of the best
    rising fit is compared with the noise. Of four rounds or more, one may be wild.

    Parameters
    ----------
    evidence : sequence of Evidence
        Rounds of one setup.
    hand : str or None
        String hand by which sides were read.

    Returns
    -------
    str or None
        The reason in a sentence.

    References
    ----------
    .. [1] cut-policy
    """
    if any(abs(each.offset) > limits.ABSURD_OFFSET for each in evidence):
        return (
            "An offset is too large to come from the arrow's length. Look for contact with the "
            "bow or a wrong unit."
        )
    if _least_misfit(evidence) > limits.CONTRADICTION:
        mirrored = [replace(one, offset=-one.offset) if one.by_side else one for one in evidence]
        if _least_misfit(mirrored) <= limits.CONTRADICTION:
            return (
                f"The sides of the shots contradict a {hand} string hand: they would fit the "
                "other hand. Check `archer.string_hand` and every `side`."
            )
        return (
            "The offsets do not fall as the arrow gets shorter, and the groups do not explain "
            "it. A very weak shaft may touch the bow and mislead."
        )
    return None


def rounds_agree(evidence: Sequence[Evidence], present: float) -> bool:
    """Tell whether the last two rounds were shot at the present length and agree.

    Parameters
    ----------
    evidence : sequence of Evidence
        Rounds of one setup, in order.
    present : float
        Present arrow length [m].

    Returns
    -------
    bool
        True where the set may follow the test shafts.

    References
    ----------
    .. [1] cut-policy
    """
    if len(evidence) < 2:
        return False
    first, second = evidence[-2:]
    for each in (first, second):
        if limits.shorter(each.length, present) or limits.longer(each.length, present):
            return False
    noise = math.hypot(first.deviation, second.deviation)
    return abs(first.offset - second.offset) <= limits.AGREEMENT * noise
