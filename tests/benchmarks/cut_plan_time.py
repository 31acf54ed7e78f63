"""How long one cut plan takes in process: the decision alone, and the whole answer.

Run: cd tests && python -m benchmarks.cut_plan_time

It prints processor milliseconds, the median of several runs of each.
"""

from __future__ import annotations

import argparse
import os
import statistics
import time
from collections.abc import Callable

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import msgspec

from benchmarks.cut_simulation import ARROW, DISTANCE, FLOOR, START
from builders.wire import q
from drawmark.fitting.cutting.bare_shaft import coordinates_of
from drawmark.fitting.cutting.next_cut import decide_cut
from drawmark.fitting.cutting.offsets import Shots, read_shots
from drawmark.fitting.cutting.saw_limits import Cutting
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.installed_rules import core_rules
from drawmark.web.wire.operations import operations_of

ROUNDS = (1, 2, 4, 8, 16, 30, 60)


def rounds_of(count: int) -> list[Shots]:
    """Rounds of an arrow that is cut by 2 mm after each, the last at the present length."""
    return [
        Shots(
            length=START + 0.002 * left,
            offset=0.15 + 0.01 * left,
            distance=DISTANCE,
            bare_count=3,
            fletched_count=3,
            group_width=0.08,
        )
        for left in range(count - 1, -1, -1)
    ]


def decide(shots: list[Shots]) -> None:
    """Physics and decision, as a plan asks for them."""
    coordinates = coordinates_of(ARROW, [each.length for each in shots])
    reading = read_shots(shots)
    decide_cut(reading, coordinates, present=START, floor=FLOOR, options=Cutting())


def spend(work: Callable[[], object], runs: int) -> float:
    """Median processor time [ms]."""
    spent = []
    for _ in range(runs):
        begun = time.process_time()
        work()
        spent.append(1000 * (time.process_time() - begun))
    return statistics.median(spent)


def body_of(shots: list[Shots]) -> bytes:
    """Request of a whole answer."""
    body = dict(EXAMPLES["cut-plan"])
    body["arrow"] = {**body["arrow"], "length": q(START, "m")}
    body["shots"] = [
        {
            "length": q(each.length, "m"),
            "offset": q(each.offset, "m"),
            "distance": q(each.distance, "m"),
            "bare_count": each.bare_count,
            "fletched_count": each.fletched_count,
            "group_width": q(each.group_width or 0.0, "m"),
        }
        for each in shots
    ]
    return msgspec.json.encode(body)


def main() -> None:
    """Print a row for each number of rounds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=15)
    runs = parser.parse_args().runs
    (plan,) = (one for one in operations_of(core_rules()) if one.path == "cut-plan")
    print("processor milliseconds, median; one cut plan of so many rounds")
    print("rounds  decision  whole answer")
    for count in ROUNDS:
        shots = rounds_of(count)
        body = body_of(shots)
        decision = spend(lambda shots=shots: decide(shots), runs)  # type: ignore[misc]
        answer = spend(lambda body=body: plan.calculate(body), runs)  # type: ignore[misc]
        print(f"{count:6d} {decision:9.1f} {answer:13.1f}", flush=True)


if __name__ == "__main__":
    main()
