"""Cut plans for archers whose world is not the plan's model.

Nothing here comes from the plan: arrows land by a formula in length alone, each shaft is drawn
for itself, and the widths of groups are those of the shafts drawn. A row of the table is a
world; in all but the first something is wrong of which the plan is not told. Every archer has a
seed of their own, (SEED, number), so any part of a run repeats to the digit.

Run: cd tests && python -m benchmarks.foreign_truth
"""

from __future__ import annotations

import argparse
import math
import os
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from benchmarks.cut_simulation import FLOOR, START, coordinates
from drawmark.fitting import limits
from drawmark.fitting.cutting.next_cut import decide_cut
from drawmark.fitting.cutting.offsets import Shots, read_shots
from drawmark.fitting.cutting.saw_limits import Cutting

SEED = 27_182
ARCHERS = 400
MOST_ROUNDS = 40
DISTANCE = 18.0
SHAFTS = 3
SLOPE = 5.0
"""Median offset [m] at 18 m for a metre of length."""
_BENT = 0.030
"""Length [m] past the ideal at which a response of any power has grown alike."""


@dataclass(frozen=True, kw_only=True)
class World:
    """What is true of every archer of a row; lengths and offsets in metres."""

    name: str
    power: float = 1.0
    """Of length past the ideal to which the offset grows; below 1 it is steep near the ideal."""
    saturation: float = 0.0
    """Length above the ideal at which a weak arrow's offset stops growing; 0 for never."""
    sensitivity: float = 1.0
    told_width: float = 1.0
    wild: float = 0.0
    """Error of one round, on either side."""
    persistent: float = 0.0
    """Deviation of an error that one archer has in every round."""
    contact: float = 0.0
    """Added to the offset where a weak arrow touches the bow."""
    coach: float = 0.0
    """Added to every offset of everybody."""


WORLDS = (
    World(name="all well"),
    World(name="concave response", power=0.7),
    World(name="saturating response", saturation=0.030),
    World(name="sensitivity 2.5", sensitivity=2.5),
    World(name="halved width", told_width=0.5),
    World(name="single large errors", wild=0.30),
    World(name="persistent error 5 cm", persistent=0.05),
    World(name="contact step 8 cm", contact=0.08),
    World(name="coach 5 cm off", coach=0.05),
)


class Archer:
    """One archer of a world: an ideal length, a slope, and shafts that spread."""

    def __init__(self, world: World, number: int) -> None:
        chance = np.random.default_rng([SEED, number])
        self.world, self.chance = world, chance
        self.ideal = START - chance.uniform(0.010, 0.076)
        self.slope = world.sensitivity * SLOPE * math.exp(chance.normal(0.0, 0.5))
        self.deviation = chance.uniform(0.020, 0.050)
        self.error = world.coach + world.persistent * chance.normal()
        self.touches = chance.uniform(0.0, 0.010)
        self.wild = (int(chance.integers(6)), world.wild * (1 if chance.random() < 0.5 else -1))

    def offset_at(self, length: float) -> float:
        """Offset [m] of a bare shaft that flies without chance."""
        world, past = self.world, length - self.ideal
        if world.saturation and past > 0:
            past = world.saturation * -math.expm1(-past / world.saturation)
        touching = world.contact if past > self.touches else 0.0
        past = math.copysign(_BENT * (abs(past) / _BENT) ** world.power, past)
        return self.slope * past + touching + self.error

    def shoot(self, length: float, number: int) -> Shots:
        """Round of so many bare and so many fletched shafts, as the coach tells it."""
        bare, fletched = self.chance.normal(0.0, self.deviation, (2, SHAFTS))
        offset = self.offset_at(length) + float(bare.mean() - fletched.mean())
        when, wild = self.wild
        return Shots(
            length=length,
            offset=offset + (wild if number == when else 0.0),
            distance=DISTANCE,
            bare_count=SHAFTS,
            fletched_count=SHAFTS,
            group_width=float(np.ptp(fletched)) * self.world.told_width,
        )


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """How one archer ended."""

    left: float
    rounds: int
    word: str
    cuts: tuple[tuple[float, bool], ...] = ()
    """Stated chance of being too far and what was so, of each cut."""
    covered: bool | None = None
    """Whether the last 90 % interval held the ideal length."""


Policy = Callable[[Archer], Outcome]


def cut_centimetres(archer: Archer) -> Outcome:
    """Cut 1 cm while the offset exceeds its own deviation."""
    length, rounds = START, 0
    noise = archer.deviation * math.sqrt(2 / SHAFTS)
    while True:
        told = archer.shoot(length, rounds).offset
        assert told is not None
        rounds += 1
        if told <= noise or rounds == MOST_ROUNDS:
            return Outcome(left=length - archer.ideal, rounds=rounds, word="stop_here")
        length -= 0.010


def follow_plan(archer: Archer, options: Cutting | None = None) -> Outcome:
    """Do what the plan says, one round at a time, until it says stop."""
    length, word, covered = START, "rounds_spent", None
    shots: list[Shots] = []
    cuts: list[tuple[float, bool]] = []
    while len(shots) < MOST_ROUNDS:
        shots.append(archer.shoot(length, len(shots)))
        decided = decide_cut(
            read_shots(shots),
            coordinates(round(min(each.length for each in shots), 2)),
            present=length,
            floor=FLOOR,
            options=options or Cutting(),
            increment=0.0005,
        )
        if decided.ideal is not None:
            covered = decided.ideal.low <= archer.ideal <= decided.ideal.high
        if decided.next_length is not None:
            length = decided.next_length
            assert decided.probability_too_far is not None
            too_far = archer.ideal > length + limits.CUT_TOLERANCE
            cuts.append((decided.probability_too_far, too_far))
        elif decided.decision != "shoot_again":
            word = decided.decision
            break
    return Outcome(
        left=length - archer.ideal,
        rounds=len(shots),
        word=word,
        cuts=tuple(cuts),
        covered=covered,
    )


def _run_part(policy: Policy, world: World, numbers: range) -> list[Outcome]:
    return [policy(Archer(world, number)) for number in numbers]


def simulate(policy: Policy, world: World, archers: int, workers: int = 1) -> list[Outcome]:
    """Outcomes of archers 0, 1, ... of a world."""
    if workers == 1:
        return _run_part(policy, world, range(archers))
    parts = [range(start, min(start + 50, archers)) for start in range(0, archers, 50)]
    with ProcessPoolExecutor(workers) as pool:
        done = pool.map(partial(_run_part, policy, world), parts)
        return [outcome for part in done for outcome in part]


@dataclass(frozen=True, kw_only=True)
class Summary:
    """A row of the table."""

    stated: float
    realised: float
    coverage: float
    rounds: float
    mean_rounds: float
    left: float
    beyond: float

    def row(self) -> str:
        """Figures under the heads of the table."""
        return (
            f"{self.stated:7.3f} {self.realised:8.3f} {self.coverage:7.0%} {self.rounds:7.1f} "
            f"{self.mean_rounds:7.2f} {self.left:8.1f} {self.beyond:7.1%}"
        )


def summarize(outcomes: Iterable[Outcome]) -> Summary:
    """Chances a cut, coverage, rounds, median length left on either side [mm], share too short."""
    outcomes = list(outcomes)
    cuts = np.array([cut for each in outcomes for cut in each.cuts], dtype=float).reshape(-1, 2)
    known = [each.covered for each in outcomes if each.covered is not None]
    left = np.array([each.left for each in outcomes])
    rounds = [each.rounds for each in outcomes]
    return Summary(
        stated=float(cuts[:, 0].mean()) if cuts.size else math.nan,
        realised=float(cuts[:, 1].mean()) if cuts.size else math.nan,
        coverage=float(np.mean(known)) if known else math.nan,
        rounds=float(np.median(rounds)),
        mean_rounds=float(np.mean(rounds)),
        left=float(np.median(np.abs(left)) * 1000),
        beyond=float(np.mean(left < -0.003)),
    )


def main() -> None:
    """Print the table, and beside each row what steps of 1 cm do in the same world."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--archers", type=int, default=ARCHERS)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--only", default="", help="worlds whose name holds this")
    chosen = parser.parse_args()
    print(f"seed ({SEED}, number of the archer); {chosen.archers} archers a row")
    print(f"{'':36s} too far a cut         90 %  rounds  rounds  left mm  > 3 mm")
    print(f"{'world':24s} {'policy':11s} stated realised  covers  median    mean   median   short")
    policies: dict[str, Policy] = {"1 cm steps": cut_centimetres, "plan": follow_plan}
    for world in WORLDS:
        if chosen.only not in world.name:
            continue
        for label, policy in policies.items():
            outcomes = simulate(policy, world, chosen.archers, chosen.workers)
            print(f"{world.name:24s} {label:11s}{summarize(outcomes).row()}", flush=True)


if __name__ == "__main__":
    main()
