"""The critical launch force of a uniform tube, solved in sine functions.

It is solved alike for one arrow or a column of arrows. With z the place in tube lengths, share(z)
the share of the mass ahead, and

    c_n = integral of share(z) cos(n pi z) dz from 0 to 1,

P = pi^2 E I / (T^2 m), where m is the largest eigenvalue of S_jk = (c_|j-k| + c_(j+k)) / (j k).
Each part of the arrow adds to c_n in closed form; a rigid arm ahead is compression at the very
end. With a nock of r tube lengths the tube turns as a whole besides, so that the line through the
nock ends at the string; that costs no bending and adds (e_j + e_k) / (j k), where

    e_n = (r^2 c_0 + r share(0)) / (1 + r)^2 - 2 r c_n / (1 + r).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, TypeAlias

from drawmark.fitting import limits
from drawmark.fitting.columns import Real, absolute, maximum, minimum
from drawmark.fitting.faults import FittingError
from drawmark.fitting.mechanics.arrow_validation import (
    FLETCHING_PLACE,
    projection_of,
    stiffness_missing_from,
)
from drawmark.fitting.model import Arrow

_FULL: Final = 5
# With twelve functions the force of usual arrows is good to 1e-5, as it is by the elements of
# `beam`; with a nock of 6 cm to 1e-4, of points 15 cm ahead of the shaft to 1e-3, of heavy vanes
# and deep points at the ends of their ranges to about a hundredth.
_LAST: Final = 12
# Integrals c_n beyond the fourteenth change it by less than 1e-6.
_KEPT: Final = 14
_NO_MORE: Final = (0.0,) * (_FULL + _LAST - _KEPT)
_SWEEPS: Final = 3
_PI: Final = math.pi
_ROUND: Final = 1 / _PI**2
# Sine of pi y for |y| <= 1/2 as a series, so that floats and columns give the same digits.
_SINE: Final = tuple((-1) ** k * _PI ** (2 * k + 1) / math.factorial(2 * k + 1) for k in range(8))
_NUMBERS: Final = range(1, _KEPT + 1)
_SQUARES: Final = tuple(1 / n**2 for n in _NUMBERS)
_SPANS: Final = tuple(_ROUND * square for square in _SQUARES)
_REST: Final = _PI**2 / 6 - math.fsum(_SQUARES[:_LAST])  # sum of 1 / n^2 past the last
_WEAK: Final = _PI**2 / 6 - math.fsum(_SQUARES[:_FULL])  # sum of 1 / n^2 past those in full
_ALTERNATING: Final = -(_PI**2) / 12 - math.fsum(
    (-1) ** n / n**2 for n in range(1, _LAST + 1)
)  # sum of (-1)^n / n^2 past the last
_AT_REAR: Final = (1.0,) * _KEPT
_AT_FRONT: Final = tuple(float((-1) ** n) for n in _NUMBERS)
_TUBE: Final = tuple(span * (1 - front) for span, front in zip(_SPANS, _AT_FRONT, strict=True))
Kink: TypeAlias = tuple[Sequence[Real], Real, Real]
Turn: TypeAlias = tuple[Real, Real]


def uniform_launch_force(arrow: Arrow) -> Real:
    """Push at the nock under which an arrow with a uniform shaft would buckle [N]."""
    length, shaft, point = arrow.length, arrow.shaft, arrow.point
    if (
        length is None
        or shaft is None
        or shaft.static_spine is None
        or shaft.mass_per_length is None
        or point is None
        or point.mass is None
    ):
        raise FittingError(*stiffness_missing_from(arrow))
    rear = projection_of(arrow)
    tube = length - rear
    own = shaft.mass_per_length * tube
    mass = own + point.mass
    ahead = own * 0.5 + point.mass
    terms: list[Real] = [own * term for term in _TUBE]

    insert, nock, fletching, wrap = arrow.insert, arrow.nock, arrow.fletching, arrow.wrap
    if insert is not None:
        given = insert.length
        share = (limits.TOLERANCE if given is None else maximum(given, limits.TOLERANCE)) / tube
        mass = mass + insert.mass
        ahead = ahead + insert.mass * (1 - share * 0.5)
        _add_span(terms, insert.mass / share, _cosines(1 - share), _AT_FRONT)
    behind: Real = 0.0
    if nock is not None and nock.mass is not None:
        behind = nock.mass
        mass = mass + behind
    if fletching is not None and fletching.mass is not None:
        edge, vane = fletching.rear_edge, fletching.length
        if edge is None or vane is None:
            raise FittingError(FLETCHING_PLACE)
        start, share = (edge - rear) / tube, vane / tube
        mass = mass + fletching.mass
        ahead = ahead + fletching.mass * (start + share * 0.5)
        _add_span(terms, fletching.mass / share, _cosines(start), _cosines(start + share))
    if wrap is not None:
        share = wrap.length / tube
        mass = mass + wrap.mass
        ahead = ahead + wrap.mass * share * 0.5
        _add_span(terms, wrap.mass / share, _AT_REAR, _cosines(share))
    kink: Kink | None = None
    if point.centre is not None:
        place = 1 + point.centre / tube
        ahead = ahead + point.mass * (place - 1)
        kink = _add_lump(terms, point.mass, place)
    held = [ahead, *terms, *_NO_MORE]
    turned = None
    if nock is not None and nock.projection is not None:
        turned = _turn_by_nock(held, rear / tube, mass - behind)
    return _PI * _PI * shaft.static_spine * mass / (tube * tube * _largest(held, kink, turned))


def _cosine(place: Real) -> Real:
    """Cosine of pi times a place between 0 and 1."""
    offset = place - 0.5
    square = offset * offset
    value: Real = _SINE[-1]
    for factor in _SINE[-2::-1]:
        value = value * square + factor
    return -offset * value


def _cosines(place: Real) -> list[Real]:
    """Cosines of pi, 2 pi, 3 pi ... times a place between 0 and 1."""
    before: Real = 1.0
    now = _cosine(place)
    twice = now + now
    cosines = [now]
    for _ in range(_KEPT - 1):
        before, now = now, twice * now - before
        cosines.append(now)
    return cosines


def _add_span(terms: list[Real], density: Real, near: Sequence[Real], far: Sequence[Real]) -> None:
    """Add a mass spread evenly between two places, given by their cosines."""
    terms[:] = [
        term + density * (rear - front) * span
        for term, rear, front, span in zip(terms, near, far, _SPANS, strict=True)
    ]


def _add_lump(terms: list[Real], mass: Real, place: Real) -> Kink:
    """Add a mass at one place and give the kink it makes in the bending moment there."""
    within = minimum(place, 1.0)
    arm = place - within
    # n pi sin(n pi z) by the same recurrence as the cosines; sin(pi z) = cos(pi |z - 1/2|).
    cosines = _cosines(within)
    turning = mass * arm
    twice = 2 * cosines[0]
    before: Real = 0.0
    now = _cosine(absolute(within - 0.5))
    gap = within * (1 - within)
    rest = gap * gap * (_PI**4 / 6)  # sum of sin(n pi z)^2 / n^4 over all n
    for n in _NUMBERS:
        spread = now * mass * (_SQUARES[n - 1] * n / _PI)
        terms[n - 1] = terms[n - 1] + (spread + turning * _AT_FRONT[n - 1])
        if n <= _LAST:
            rest = rest - now * now * (_SQUARES[n - 1] * _SQUARES[n - 1])
        before, now = now, twice * now - before
    return cosines, rest * mass * mass * (4 * _ROUND) + turning * turning * (4 * _REST), turning


def _turn_by_nock(c: Sequence[Real], arm: Real, pushed: Real) -> Turn:
    """Turn the tube by a nock's length, in tube lengths, with the mass that it pushes."""
    whole = 1 + arm
    tilt = arm / whole
    return tilt, tilt * tilt * c[0] + arm * pushed / (whole * whole)


def _largest(c: Sequence[Real], kink: Kink | None, turn: Turn | None) -> Real:
    """Largest eigenvalue of the matrix of the module's head.

    The first five functions are coupled in full. The next seven couple weakly with each other and
    count by their effect on the five. Of all others only the kink of a lump within the tube and the
    bend at a nock count, in closed form; a nock couples all beyond the five alike.
    """
    s11, s12, s13 = c[0] + c[2], (c[1] + c[3]) / 2, (c[2] + c[4]) / 3
    s14, s15 = (c[3] + c[5]) / 4, (c[4] + c[6]) / 5
    s22, s23, s24 = (c[0] + c[4]) / 4, (c[1] + c[5]) / 6, (c[2] + c[6]) / 8
    s25, s33, s34 = (c[3] + c[7]) / 10, (c[0] + c[6]) / 9, (c[1] + c[7]) / 12
    s35, s44 = (c[2] + c[8]) / 15, (c[0] + c[8]) / 16
    s45, s55 = (c[1] + c[9]) / 20, (c[0] + c[10]) / 25
    e = None
    if turn is not None:
        tilt, even = turn
        e = [even, *[even - 2 * tilt * each for each in c[1:]]]
        s11, s12, s13 = s11 + e[1] * 2, s12 + (e[1] + e[2]) / 2, s13 + (e[1] + e[3]) / 3
        s14, s15 = s14 + (e[1] + e[4]) / 4, s15 + (e[1] + e[5]) / 5
        s22, s23, s24 = s22 + e[2] / 2, s23 + (e[2] + e[3]) / 6, s24 + (e[2] + e[4]) / 8
        s25, s33, s34 = s25 + (e[2] + e[5]) / 10, s33 + e[3] / 4.5, s34 + (e[3] + e[4]) / 12
        s35, s44 = s35 + (e[3] + e[5]) / 15, s44 + e[4] / 8
        s45, s55 = s45 + (e[4] + e[5]) / 20, s55 + e[5] / 12.5
    b3: Real = 0.0
    b4: Real = 0.0
    b5: Real = 0.0
    top = s11
    for _ in range(_SWEEPS):
        b2 = (s12 + s23 * b3 + s24 * b4 + s25 * b5) / (top - s22)
        b3 = (s13 + s23 * b2 + s34 * b4 + s35 * b5) / (top - s33)
        b4 = (s14 + s24 * b2 + s34 * b3 + s45 * b5) / (top - s44)
        b5 = (s15 + s25 * b2 + s35 * b3 + s45 * b4) / (top - s55)
        top = s11 + s12 * b2 + s13 * b3 + s14 * b4 + s15 * b5
    y2 = s12 + s22 * b2 + s23 * b3 + s24 * b4 + s25 * b5
    y3 = s13 + s23 * b2 + s33 * b3 + s34 * b4 + s35 * b5
    y4 = s14 + s24 * b2 + s34 * b3 + s44 * b4 + s45 * b5
    y5 = s15 + s25 * b2 + s35 * b3 + s45 * b4 + s55 * b5
    size = 1 + b2 * b2 + b3 * b3 + b4 * b4 + b5 * b5
    top = (top + b2 * y2 + b3 * y3 + b4 * y4 + b5 * y5) / size

    a2, a3, a4, a5 = b2 / 2, b3 / 3, b4 / 4, b5 / 5
    if e is not None:
        slopes = 1 + a2 + a3 + a4 + a5
        turns = e[1] + e[2] * a2 + e[3] * a3 + e[4] * a4 + e[5] * a5
        alike: Real = 0.0
        last: Real = 0.0
    gain: Real = 0.0
    for j in range(_FULL + 1, _LAST + 1):
        pull = (c[j - 1] + c[j + 1] + (c[j - 2] + c[j + 2]) * a2 + (c[j - 3] + c[j + 3]) * a3) + (
            (c[j - 4] + c[j + 4]) * a4 + (c[j - 5] + c[j + 5]) * a5
        )
        if e is not None:
            pull = pull + e[j] * slopes + turns
        step = pull / (top - c[0] * _SQUARES[j - 1])
        share = step * _SQUARES[j - 1]
        gain = gain + pull * share
        size = size + step * share
        if e is not None:
            gain = gain + 2 * c[1] * last * share
            alike, last = alike + share, share
    if e is not None:
        pull = e[0] * slopes + turns
        share = pull * _REST / top
        alike = alike + share
        gain = gain + (pull * share + 2 * e[0] * alike * alike / (1 - e[0] * (2 * _WEAK) / top))
        size = size + pull * share / top
    if kink is not None:
        cosines, strength, turning = kink
        slope = cosines[0] + cosines[1] * a2 + cosines[2] * a3 + cosines[3] * a4 + cosines[4] * a5
        if e is not None:
            slope = slope - tilt * slopes
            gain = gain + slope * turning * pull * (4 * _ALTERNATING) / top
        gain = gain + slope * slope * strength / top
    return top + gain / size
