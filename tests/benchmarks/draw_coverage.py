"""How often the next draw passes the allowance for the spread of the draw, by simulation.

Run: cd tests && python -m benchmarks.draw_coverage

An archer's draws vary by a true deviation. Of n draws a club knows mean and deviation, and allows
V past the mean. The table gives how many of a thousand next draws pass that: 1.35 would be three
normal deviations. The formula here is independent of the service, with the quantile of scipy.stats.
"""

from __future__ import annotations

import argparse
import math
from functools import cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy import stats

Column = NDArray[np.float64]

LEVEL: Final = 0.99865
FREEDOM: Final = 3
BASES: Final = {"none": 25.4, "settled": 10.0, "clicker, draw stop": 6.0}
COUNTS: Final = (2, 3, 4, 5, 6, 8, 12, 20, 30)
DEVIATIONS: Final = (1.0, 2.5, 5.0, 10.0, 20.0)
# Each with mean 0 and deviation 1. Gamma of shape 4 leans to long draws, with skewness 1.
SHAPES: Final[dict[str, Any]] = {
    "normal": stats.norm(),
    "t(4)": stats.t(4, scale=math.sqrt(0.5)),
    "skewed": stats.gamma(4, loc=-2, scale=0.5),
}


def predicted(base: float, count: int, deviation: Any) -> Any:
    """Reach of the next draw past the mean by the deviation of the draws known, in their unit."""
    prior = base / stats.t.ppf(LEVEL, FREEDOM)
    freedom = FREEDOM + count - 1
    pooled = (FREEDOM * prior**2 + (count - 1) * deviation**2) / freedom
    return stats.t.ppf(LEVEL, freedom) * np.sqrt(pooled * (1 + 1 / count))


def allowance(base: float, count: int, deviation: Any) -> Any:
    """Allowance V: never below the base."""
    return np.maximum(base, predicted(base, count, deviation))


@cache
def known_draws(shape: str, archers: int, count: int) -> tuple[Column, Column, Column]:
    """Mean, deviation and longest of each archer's draws, whose true mean is 0 and deviation 1."""
    rng = np.random.default_rng(count)
    size = (archers, count)
    if shape == "normal":
        draws = rng.standard_normal(size)
    elif shape == "t(4)":
        draws = rng.standard_t(4, size) * math.sqrt(0.5)
    else:
        draws = rng.standard_gamma(4, size) * 0.5 - 2
    return draws.mean(axis=1), draws.std(axis=1, ddof=1), draws.max(axis=1)


def beyond_per_thousand(
    shape: str, base: float, count: int, deviation: float, archers: int
) -> float:
    """Of a thousand next draws, the number past mean + V and past the longest draw known.

    The next draw itself is not simulated: its chance follows from the shape, archer by archer.
    """
    mean, known, longest = known_draws(shape, archers, count)
    reach = mean + allowance(base / deviation, count, known)
    return 1000 * float(SHAPES[shape].sf(np.maximum(reach, longest)).mean())


def main() -> None:
    """Print a table for each shape and base."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--archers", type=int, default=100_000)
    archers = parser.parse_args().archers
    print(f"next draws past mean + V, of a thousand; {archers} archers a figure")
    for shape in SHAPES:
        for control, base in BASES.items():
            print(f"\n{shape}; draw control {control}: base {base} mm")
            print("true deviation" + "".join(f"  n = {count:2d}" for count in COUNTS))
            for deviation in DEVIATIONS:
                row = (
                    beyond_per_thousand(shape, base, count, deviation, archers) for count in COUNTS
                )
                print(f"{deviation:11.1f} mm" + "".join(f"{one:8.2f}" for one in row), flush=True)


if __name__ == "__main__":
    main()
