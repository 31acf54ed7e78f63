"""What the rules say of an arrow at each length to which it may be cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from drawmark.answers.common.advice import is_growing
from drawmark.answers.common.context import Context
from drawmark.answers.common.measured_mass import carry_over
from drawmark.answers.common.minimum import minimum_length_of
from drawmark.answers.common.recommended_window import window_in
from drawmark.fitting import limits
from drawmark.fitting.cutting.bare_shaft import shortest_cut
from drawmark.fitting.draw.control import exposed_of, tip_reaches
from drawmark.fitting.facts import facts_of
from drawmark.fitting.mechanics.arrow_facts import ArrowFacts, arrow_facts_of_each
from drawmark.fitting.mechanics.arrow_parts import CutEnd, cut
from drawmark.fitting.mechanics.arrow_validation import faults_of, length_of
from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.fitting.window import Window, clicker_window
from drawmark.rules.evaluate import evaluate
from drawmark.rules.outcome import Outcome


@dataclass(frozen=True, kw_only=True, slots=True)
class Candidate:
    """An arrow as it would be, and what the rules say of it.

    Parameters
    ----------
    arrow : Arrow
        The arrow.
    outcome : Outcome
        What every rule said.
    minimum : float
        Minimum safe arrow length, local rules included [m].
    """

    arrow: Arrow
    outcome: Outcome
    minimum: float

    @property
    def length(self) -> float:
        """Arrow length [m]."""
        return float(length_of(self.arrow))

    @property
    def long_enough(self) -> bool:
        """Tell whether the arrow is known to be no shorter than its minimum."""
        return self.outcome.determinate and not limits.shorter(self.length, self.minimum)

    @property
    def may_be_shot(self) -> bool:
        """Tell whether a fit check of this arrow would neither stop nor leave in doubt."""
        return self.outcome.verdict in ("pass", "caution")


@dataclass(frozen=True, kw_only=True)
class Candidates:
    """Archer, bow and arrow, and the rules to ask about each cut.

    Parameters
    ----------
    archer, bow, arrow : Archer, Bow, Arrow
        The request; the arrow as it now is.
    end : CutEnd
        End of the shaft that is cut.
    context : Context
        Rules in force.
    """

    archer: Archer
    bow: Bow
    arrow: Arrow
    end: CutEnd
    context: Context
    _asked: dict[float, Candidate] = field(default_factory=dict, init=False, repr=False)
    _known: dict[float, tuple[Arrow, ArrowFacts]] = field(
        default_factory=dict, init=False, repr=False
    )

    @property
    def present(self) -> float:
        """Present arrow length [m]."""
        return float(length_of(self.arrow))

    def at(self, length: float) -> Candidate:
        """Ask the rules about the arrow cut to a length [m], or as it is at its own."""
        if not limits.shorter(length, self.present):
            length = self.present
        if length not in self._asked:
            arrow, known = self._known.pop(length, None) or (self.cut_to(length), None)
            self._asked[length] = self.with_arrow(arrow, known=known)
        return self._asked[length]

    def prepare(self, lengths: Sequence[float]) -> None:
        """Solve the arrow cut to many lengths together, before the rules are asked."""
        arrows = [self.cut_to(length) for length in lengths]
        if not any(map(faults_of, arrows)):
            known = zip(arrows, arrow_facts_of_each(arrows), strict=True)
            self._known.update(zip(lengths, known, strict=True))

    def with_arrow(
        self, arrow: Arrow, bow: Bow | None = None, known: ArrowFacts | None = None
    ) -> Candidate:
        """Ask the rules about another arrow, or another bow, for the same archer."""
        context = self.context
        fitting = Fitting(archer=self.archer, bow=bow or self.bow, arrow=arrow)
        facts = facts_of(fitting, arrow_facts=known)
        outcome = evaluate(fitting, context.ruleset, context.local, facts=facts)
        return Candidate(arrow=arrow, outcome=outcome, minimum=minimum_length_of(outcome))

    def with_bow(self, bow: Bow) -> Candidate:
        """Ask the rules about the arrow as it is on another bow that has a draw weight."""
        known = self.at(self.present).outcome.facts
        return self.with_arrow(self.arrow, bow, known)

    def cut_to(self, length: float) -> Arrow:
        """Cut the arrow to a length [m], or leave it as it is at its own."""
        if not limits.shorter(length, self.present):
            return self.arrow
        # Rules may ask for what was measured of the whole arrow.
        return carry_over(self.arrow, cut(self.arrow, length, self.end))

    def reaches_clicker(self, arrow: Arrow) -> bool | None:
        """Tell whether the tip leaves the blade within its range; None where that is not given."""
        if self.bow.clicker_range is None or exposed_of(arrow) is None:
            return None
        return bool(tip_reaches(self.bow, arrow, self.at(self.present).outcome.facts.draw))


@dataclass(frozen=True, kw_only=True, slots=True)
class Survey:
    """What a plan stands on.

    Parameters
    ----------
    candidates : Candidates
        Archer, bow, arrow and rules.
    here : Candidate
        The arrow as it is.
    there : Candidate
        The arrow where the plan leads: as it is, unless only a cut lets a clicker count.
    window : Window
        Recommended lengths [m].
    lowest : float
        Length below which no cut may go [m].
    by_clicker : bool
        The clicker's window, not the minimum, sets the lowest length.
    """

    candidates: Candidates
    here: Candidate
    there: Candidate
    window: Window
    lowest: float
    by_clicker: bool

    def is_costly(self, wanted: float | None) -> bool:
        """Tell whether a wanted length [m] takes room from growth or the recommended length."""
        if wanted is None:
            return False
        figure = self.window.figure
        short = figure is not None and bool(limits.shorter(wanted, figure))
        return short or is_growing(self.there.outcome.facts)

    @property
    def fixed_by_clicker(self) -> float | None:
        """Length that a clicker which counts asks for [m]; None without one."""
        clicker = self.there.outcome.facts.control == "clicker"
        return self.window.cut_to if clicker else None


def survey(candidates: Candidates, wanted: float | None, increment: float | None) -> Survey:
    """Find the floor of a plan and the length it leads to.

    A clicker that an arrow is still too long for may count once it is cut; then the floors are
    those of the arrow at the length where it counts.
    """
    here = there = candidates.at(candidates.present)
    if here.outcome.facts.refuted:
        there = _with_clicker(candidates, here, wanted) or here
    window = window_in(there.outcome, candidates.bow, there.arrow, increment)
    lowest = max(there.minimum, shortest_cut(candidates.arrow))
    clicker = there.outcome.facts.control == "clicker" and window.figure is not None
    by_clicker = clicker and bool(limits.longer(window.shortest, lowest))
    return Survey(
        candidates=candidates,
        here=here,
        there=there,
        window=window,
        lowest=max(lowest, window.shortest) if clicker else lowest,
        by_clicker=by_clicker,
    )


def _with_clicker(
    candidates: Candidates, here: Candidate, wanted: float | None
) -> Candidate | None:
    reach = exposed_of(candidates.arrow)
    assert reach is not None
    near, far = (float(end) for end in clicker_window(here.outcome.facts, candidates.bow, reach))
    least = shortest_cut(candidates.arrow)
    for length in (wanted, (near + far) / 2, far):
        if length is None or limits.shorter(length, least):
            continue
        candidate = candidates.at(length)  # as it is, where that is shorter
        if candidate.outcome.facts.control == "clicker" and candidate.long_enough:
            return candidate
    return None
