"""How often cut plans go too far: archers drawn by chance, policies compared, two truths.

The truths are not the plan's own model: the response bends differently, the noise is normal
or Student's, its stated deviation may be wrong, and one archer in ten folds back. Every
archer has a seed of their own, (SEED, number), so any part of a run repeats to the digit.
The plan's priors and policy were chosen on archers of another seed, 20260.

Run: cd tests && python -m benchmarks.cut_simulation
"""

from __future__ import annotations

import argparse
import math
import os
import time
from collections import Counter
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache, partial

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from drawmark.fitting import limits
from drawmark.fitting.cutting.ideal_length import infer_ideal
from drawmark.fitting.cutting.next_cut import decide_cut
from drawmark.fitting.cutting.offsets import Evidence, Reading
from drawmark.fitting.cutting.saw_limits import Cutting
from drawmark.fitting.cutting.spine_coordinate import Coordinate, coordinate_lengths
from drawmark.fitting.mechanics.spine import log_equivalent_spine
from drawmark.fitting.model import Arrow, Nock, Point, Shaft
from drawmark.fitting.units import GRAIN, INCH, UNITS

SEED = 19_541
START = 0.762
FLOOR = START - 0.130
DISTANCE = 18.0
MOST_ROUNDS = 40

ARROW = Arrow(
    length=START,
    shaft=Shaft(static_spine=float(UNITS["astm"].to_si(500.0)), mass_per_length=8.4 * GRAIN / INCH),
    point=Point(mass=120 * GRAIN),
    nock=Nock(mass=10 * GRAIN),
)


@cache
def truth_grid() -> Coordinate:
    """The physics that archers answer to: free vibration, on a fine grid."""
    lengths = np.linspace(START - 0.15, START + 0.05, 401)
    vibration, _ = log_equivalent_spine(ARROW, lengths)
    return Coordinate(name="free_vibration", lengths=lengths, log_spine=vibration)


@cache
def coordinates(shortest: float) -> tuple[Coordinate, ...]:
    """The physics that the plan sees, from its own knots."""
    lengths = coordinate_lengths([shortest, START])
    return tuple(
        Coordinate(name=name, lengths=lengths, log_spine=log_spine)
        for name, log_spine in zip(
            ("free_vibration", "launch"), log_equivalent_spine(ARROW, lengths), strict=True
        )
    )


@dataclass(frozen=True, kw_only=True)
class Truth:
    name: str
    nearest: float
    furthest: float
    bend: float = 0.0
    slope: float = 0.0
    folding: float = 0.0
    student: float = 0.0
    """Scale of Student's t with 4 degrees over the deviation; 0 for normal noise."""
    misstated: float = 1.0
    sensitivity: float = 1.0
    """Median offset [m] for one unit of log spine."""


EASY = Truth(name="easy", nearest=0.010, furthest=0.076)
# Student's t with 4 degrees has deviation sqrt 2: divided, the noise has the same deviation.
HARSH = Truth(
    name="harsh",
    nearest=0.0,
    furthest=0.080,
    bend=0.3,
    slope=0.3,
    folding=0.1,
    student=1 / math.sqrt(2),
    misstated=1.5,
)
# Harder than asked: the stated deviation taken for the scale of Student's t.
HARSHER = Truth(
    name="harsher", nearest=0.0, furthest=0.080, bend=0.3, slope=0.3, folding=0.1,
    student=1.0, misstated=1.5,
)  # fmt: skip
# The plan's prior is centred where the easy truth is; these show what it costs when it is not.
DULL = Truth(name="dull", nearest=0.010, furthest=0.076, sensitivity=0.5)
LIVELY = Truth(name="lively", nearest=0.010, furthest=0.076, sensitivity=2.0)
TRUTHS = {truth.name: truth for truth in (EASY, HARSH, HARSHER, DULL, LIVELY)}


class Archer:
    """One archer: an ideal length, a response to length and noise."""

    def __init__(self, truth: Truth, number: int) -> None:
        chance = np.random.default_rng([SEED, number])
        self.ideal = START - chance.uniform(truth.nearest, truth.furthest)
        self.sensitivity = truth.sensitivity * math.exp(chance.normal(0.0, 0.5))
        self.deviation = chance.uniform(0.015, 0.040)
        self.bend = chance.uniform(-truth.bend, truth.bend)
        self.sensitivity *= chance.uniform(1 - truth.slope, 1 + truth.slope)
        self.folds = chance.random() < truth.folding
        wrong = math.log(truth.misstated)
        self.stated = self.deviation * math.exp(chance.uniform(-wrong, wrong))
        if truth.student:
            noise = chance.standard_t(4, MOST_ROUNDS) * truth.student
        else:
            noise = chance.normal(size=MOST_ROUNDS)
        self.noise = noise * self.deviation

    def shoot(self, length: float, number: int) -> float:
        """Offset [m] of a round."""
        grid = truth_grid()
        offset = self.sensitivity * float(grid.at(length) - grid.at(self.ideal))
        offset *= 1 + self.bend * (length - self.ideal) / 0.050
        if self.folds and offset > 0.25:
            offset = 0.5 - offset
        return offset + float(self.noise[number])


@dataclass(frozen=True, kw_only=True)
class Outcome:
    past: float
    """How far past the ideal [m]; negative while still long."""
    rounds: int
    word: str
    stated: tuple[tuple[float, bool], ...] = ()
    """Stated chances of being too far and what was so: for cuts made."""
    asked: tuple[tuple[float, bool], ...] = ()
    """The same for lengths asked about, cut to or not."""


Policy = Callable[[Archer], Outcome]


def cut_fixed_steps(step: float, archer: Archer) -> Outcome:
    """Cut the step while the offset exceeds one stated deviation."""
    length, rounds = START, 0
    while True:
        offset = archer.shoot(length, rounds)
        rounds += 1
        if offset <= archer.stated or rounds == MOST_ROUNDS:
            return Outcome(past=archer.ideal - length, rounds=rounds, word="stop_here")
        length -= step


def follow_plan(
    options: Cutting, archer: Archer, *, measures: int = 2, calibrate: bool = False
) -> Outcome:
    """Do what the plan says, one round at a time, until it says stop."""
    length = START
    evidence: list[Evidence] = []
    stated: list[tuple[float, bool]] = []
    asked: list[tuple[float, bool]] = []
    word = "rounds_spent"
    while len(evidence) < MOST_ROUNDS:
        offset = archer.shoot(length, len(evidence))
        evidence.append(
            Evidence(length=length, offset=offset / DISTANCE, deviation=archer.stated / DISTANCE)
        )
        grids = coordinates(round(min(e.length for e in evidence), 2))[:measures]
        reading = Reading(
            evidence=tuple(evidence),
            setup="",
            set_aside=0,
            arrow_deviation=archer.stated / DISTANCE,
            widths=0,
            distance=DISTANCE,
            shafts=6,
        )
        decision = decide_cut(
            reading, grids, present=length, floor=FLOOR, options=options, increment=0.0005
        )
        if calibrate and decision.ideal is not None:
            posterior = infer_ideal(evidence, grids[0])
            for cut in np.arange(0.0, 0.081, 0.008):
                reached = length - cut + limits.CUT_TOLERANCE
                if reached > grids[0].lengths[0]:
                    asked.append((posterior.probability_above(reached), archer.ideal > reached))
        if decision.decision == "cut":
            assert decision.next_length is not None
            assert decision.probability_too_far is not None
            length = decision.next_length
            too_far = archer.ideal > length + limits.CUT_TOLERANCE
            stated.append((decision.probability_too_far, too_far))
        elif decision.decision != "shoot_again":
            word = decision.decision
            break
    return Outcome(
        past=archer.ideal - length,
        rounds=len(evidence),
        word=word,
        stated=tuple(stated),
        asked=tuple(asked),
    )


def _run_part(policy: Policy, truth: Truth, numbers: range) -> list[Outcome]:
    return [policy(Archer(truth, number)) for number in numbers]


def simulate(policy: Policy, truth: Truth, archers: int, workers: int = 1) -> list[Outcome]:
    """Outcomes of archers 0, 1, ... under a truth."""
    if workers == 1:
        return _run_part(policy, truth, range(archers))
    parts = [range(start, min(start + 100, archers)) for start in range(0, archers, 100)]
    with ProcessPoolExecutor(workers) as pool:
        done = pool.map(partial(_run_part, policy, truth), parts)
        return [outcome for part in done for outcome in part]


@dataclass(frozen=True, kw_only=True)
class Summary:
    archers: int
    past_3mm: float
    past_quarter_inch: float
    rounds: float
    mean_rounds: float
    ninetieth_rounds: float
    left: float

    def row(self) -> str:
        shares = (
            f"{share:6.2f} ±{standard_error(share, self.archers):4.2f}"
            for share in (self.past_3mm, self.past_quarter_inch)
        )
        return (
            f"{' '.join(shares)} {self.rounds:7.1f} {self.mean_rounds:7.2f} "
            f"{self.ninetieth_rounds:7.1f} {self.left:7.2f}"
        )


def standard_error(share: float, archers: int) -> float:
    """Standard error of a share [%]; nobody counts as one archer, so that 0 has an error too."""
    share = max(share / 100, 1 / archers)
    return 100 * math.sqrt(share * (1 - share) / archers)


def summarize(outcomes: Iterable[Outcome]) -> Summary:
    """Shares [%], rounds, and the median distance left on either side [mm]."""
    outcomes = list(outcomes)
    past = np.array([o.past for o in outcomes])
    rounds = np.array([o.rounds for o in outcomes])
    return Summary(
        archers=len(outcomes),
        past_3mm=float(np.mean(past > 0.003) * 100),
        past_quarter_inch=float(np.mean(past > 0.00635) * 100),
        rounds=float(np.median(rounds)),
        mean_rounds=float(rounds.mean()),
        ninetieth_rounds=float(np.percentile(rounds, 90)),
        left=float(np.median(np.abs(past)) * 1000),
    )


def bin_chances(
    pairs: Iterable[tuple[float, bool]], edges: np.ndarray
) -> list[tuple[float, float, int, float, float]]:
    """Rows of low edge, high edge, count, mean stated chance and observed share."""
    stated, so = (np.array(column, dtype=float) for column in zip(*pairs, strict=True))
    place = np.clip(np.digitize(stated, edges) - 1, 0, edges.size - 2)
    rows = []
    for index in range(edges.size - 1):
        here = place == index
        count = int(here.sum())
        rows.append(
            (
                float(edges[index]),
                float(edges[index + 1]),
                count,
                float(stated[here].mean()) if count else math.nan,
                float(so[here].mean()) if count else math.nan,
            )
        )
    return rows


POLICIES: dict[str, Policy] = {
    "fixed 5 mm": partial(cut_fixed_steps, 0.005),
    "fixed 10 mm": partial(cut_fixed_steps, 0.010),
    "fixed 1/2 in": partial(cut_fixed_steps, 0.5 * INCH),
    **{
        f"plan, risk {risk:g}": partial(
            follow_plan, Cutting(risk=risk), calibrate=risk == limits.CUT_RISK
        )
        for risk in (0.005, 0.01, 0.02, 0.04, 0.08)
    },
}


def main() -> None:
    """Print the table, the calibration and the seeds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--archers", type=int, default=2000)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--truths", nargs="*", default=["easy", "harsh"], choices=list(TRUTHS))
    parser.add_argument("--only", default="", help="policies whose name holds this")
    chosen = parser.parse_args()
    print(f"seed ({SEED}, number of the archer); {chosen.archers} archers a row; ± standard error")
    for name in chosen.truths:
        print(f"\n{name} truth")
        print(f"{'policy':18s}       >3 mm      >6.35mm  median    mean 90th pc left mm")
        print(f"{'':18s}           %            %  rounds  rounds  rounds  median")
        for label, policy in POLICIES.items():
            if chosen.only not in label:
                continue
            begun = time.perf_counter()
            outcomes = simulate(policy, TRUTHS[name], chosen.archers, chosen.workers)
            words = Counter(o.word for o in outcomes).most_common()
            ended = ", ".join(f"{word} {count / len(outcomes):.1%}" for word, count in words)
            print(
                f"{label:18s} {summarize(outcomes).row()}  "
                f"{time.perf_counter() - begun:5.0f} s  {ended}",
                flush=True,
            )
            if any(o.asked for o in outcomes):
                for title, edges, pairs in (
                    (
                        "lengths asked about",
                        np.linspace(0, 1, 11),
                        [pair for o in outcomes for pair in o.asked],
                    ),
                    (
                        "cuts made",
                        np.linspace(0, limits.CUT_RISK, 11),
                        [pair for o in outcomes for pair in o.stated],
                    ),
                ):
                    print(f"    calibration, {title}: bin, number, mean stated, observed")
                    for low, high, count, mean, share in bin_chances(pairs, edges):
                        print(f"    {low:.3f}-{high:.3f} {count:7d} {mean:8.4f} {share:8.4f}")


if __name__ == "__main__":
    main()
