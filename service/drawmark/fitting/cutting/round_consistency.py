"""Whether rounds of shots are consistent with each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from drawmark.fitting import limits
from drawmark.fitting.cutting.offsets import Evidence


@dataclass(frozen=True, kw_only=True, slots=True)
class Contradiction:
    """Why rounds contradict each other.

    Parameters
    ----------
    reason : str
        What is wrong and what to do, in a sentence or two.
    rounds_needed : int or None
        Further rounds that would show whether one was wild; None where no round can settle it.
    """

    reason: str
    rounds_needed: int | None = None


@dataclass(frozen=True, slots=True)
class _Block:
    """Neighbouring lengths with one offset."""

    mean: float
    weight: float
    members: tuple[Evidence, ...]

    @property
    def longest(self) -> float:
        return max(each.length for each in self.members)

    @property
    def shortest(self) -> float:
        return min(each.length for each in self.members)

    def pooled(self, longer: _Block) -> _Block:
        weight = self.weight + longer.weight
        mean = (self.mean * self.weight + longer.mean * longer.weight) / weight
        return _Block(mean, weight, self.members + longer.members)


def _fit_rising(evidence: Sequence[Evidence]) -> list[_Block]:
    """Best fit that never falls as length rises, from the shortest length to the longest."""
    blocks: list[_Block] = []
    for length in sorted({each.length for each in evidence}):
        group = tuple(each for each in evidence if each.length == length)
        weight = sum(each.deviation**-2 for each in group)
        mean = sum(each.offset * each.deviation**-2 for each in group) / weight
        block = _Block(mean, weight, group)
        while blocks and blocks[-1].mean > block.mean:
            block = blocks.pop().pooled(block)
        blocks.append(block)
    return blocks


def _is_denied(sided: Evidence, blocks: Sequence[_Block]) -> bool:
    """Tell whether a rising fit leaves no room for a round of which only the side is known."""
    if sided.sign == 1:
        return any(b.mean < sided.offset for b in blocks if b.longest >= sided.length)
    return any(b.mean > sided.offset for b in blocks if b.shortest <= sided.length)


def _misfit(evidence: Sequence[Evidence]) -> float:
    """Misfit, beyond noise, of the best fit that never falls as length rises.

    A side alone counts only where the fit denies it, and then as an offset at the side's begin.
    """
    fitted = [each for each in evidence if each.sign is None]
    sided = [each for each in evidence if each.sign is not None]
    while True:
        blocks = _fit_rising(fitted)
        denied = [each for each in sided if _is_denied(each, blocks)]
        if not denied:
            break
        fitted += denied
        sided = [each for each in sided if each not in denied]
    squares = sum(((e.offset - b.mean) / e.deviation) ** 2 for b in blocks for e in b.members)
    return squares - (len(fitted) - len(blocks))


def _least_misfit(evidence: Sequence[Evidence]) -> float:
    misfit = _misfit(evidence)
    if misfit > limits.CONTRADICTION and len(evidence) >= limits.SPARE_ROUNDS:
        rest = [[*evidence[:i], *evidence[i + 1 :]] for i in range(len(evidence))]
        misfit = min(_misfit(others) for others in rest)
    return misfit


def _mirrored(each: Evidence) -> Evidence:
    if not each.by_side:
        return each
    return replace(each, offset=-each.offset, sign=None if each.sign is None else -each.sign)


def find_contradiction(
    evidence: Sequence[Evidence], hand: str | None = None
) -> Contradiction | None:
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
    Contradiction or None
        What is wrong, and how many rounds may settle it.

    References
    ----------
    .. [1] cut-policy
    """
    if any(abs(each.offset) > limits.ABSURD_OFFSET for each in evidence):
        return Contradiction(
            reason="An offset is too large to come from the arrow's length. Look for contact "
            "with the bow or a wrong unit."
        )
    if _least_misfit(evidence) <= limits.CONTRADICTION:
        return None
    if _least_misfit([_mirrored(each) for each in evidence]) <= limits.CONTRADICTION:
        return Contradiction(
            reason=f"The sides of the shots contradict a {hand} string hand: they would fit the "
            "other hand. Check `archer.string_hand` and every `side`."
        )
    lengths = {each.length for each in evidence}
    alike = any(
        _misfit([each for each in evidence if each.length == length]) > limits.CONTRADICTION
        for length in lengths
    )
    reason = (
        "Rounds at one length disagree by more than their groups explain. Look for contact with "
        "the bow and for changes between the rounds."
        if alike
        else "The offsets do not fall as the arrow gets shorter, and the groups do not explain "
        "it. A very weak shaft may touch the bow and mislead."
    )
    further = limits.SPARE_ROUNDS - len(evidence)
    if further <= 0:
        return Contradiction(reason=reason)
    return Contradiction(reason=f"{reason} Shoot here again before any cut.", rounds_needed=further)


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
        True where the set may follow the test shafts; never by a side alone.

    References
    ----------
    .. [1] cut-policy
    """
    if len(evidence) < 2:
        return False
    first, second = evidence[-2:]
    for each in (first, second):
        if each.sign is not None:
            return False
        if limits.shorter(each.length, present) or limits.longer(each.length, present):
            return False
    noise = math.hypot(first.deviation, second.deviation)
    return abs(first.offset - second.offset) <= limits.AGREEMENT * noise
