"""Coordinates and rounds for tests of the cut plan."""

import numpy as np

from drawmark.fitting.cutting.offsets import Evidence, Reading
from drawmark.fitting.cutting.spine_coordinate import Coordinate, coordinate_lengths

PRESENT = 0.762


def bare_shaft(lengths, power=4.0, name="free_vibration"):
    """Coordinate of a uniform shaft without masses: frequency goes as length to the -2."""
    grid = coordinate_lengths(lengths)
    return Coordinate(name=name, lengths=grid, log_spine=power * np.log(grid))


def both_measures(lengths):
    return (bare_shaft(lengths), bare_shaft(lengths, 2.0, "launch"))


def rounds(*pairs, deviation=0.001):
    """Evidence from (length [m], angle [rad])."""
    return tuple(Evidence(length=x, offset=y, deviation=deviation) for x, y in pairs)


def read(evidence, **changes):
    given = {
        "evidence": tuple(evidence),
        "setup": "",
        "set_aside": 0,
        "arrow_deviation": 0.002,
        "widths": 1,
        "distance": 18.0,
        "shafts": 6,
    }
    return Reading(**(given | changes))


def respond(ideal, sensitivity=1 / 18, power=4.0):
    """Angle against length for an archer whose response is straight in log spine."""
    return lambda length: sensitivity * power * float(np.log(length / ideal))
