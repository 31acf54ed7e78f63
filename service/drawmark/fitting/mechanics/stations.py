"""Barrelled and tapered shafts: stiffness and mass that change linearly between stations.

The stations describe the shaft that was tested for static spine. A cut keeps them all, so that
the rest keeps its stiffness: they then reach past the tube, with negative positions behind its
rear end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.fitting.columns import Column, Real
from drawmark.fitting.limits import shorter
from drawmark.fitting.model import Station
from drawmark.fitting.units import ASTM_SPAN


def _gauss(count: int) -> tuple[Column, Column]:
    place, weight = np.polynomial.legendre.leggauss(count)
    return (place + 1) / 2, weight / 2


_PLACES, _WEIGHTS = _gauss(16)
_FEW_PLACES, _FEW_WEIGHTS = _gauss(4)
_ALIKE: Final = 1e-12


@dataclass(frozen=True, kw_only=True, slots=True)
class Profile:
    """Relative stiffness and mass along a shaft, or along each of many.

    Parameters
    ----------
    position : Column
        Stations, from the shaft's rear end, ascending along the last axis; the last may stand
        more than once [m].
    stiffness : Column
        E I at each station over the reference E I.
    mass : Column
        Mass per length at each station over the reference mass per length.
    """

    position: Column
    stiffness: Column
    mass: Column

    def stiffness_at(self, place: Column) -> Column:
        """Relative stiffness at places from the rear end; beyond the stations, that of the last."""
        return _interpolate(place, self.position, self.stiffness)

    def mass_at(self, place: Column) -> Column:
        """Relative mass at places from the rear end; beyond the stations, that of the last."""
        return _interpolate(place, self.position, self.mass)

    def mean_mass(self, length: Real) -> Column:
        """Mean relative mass of a tube of a length [m]."""
        place = self.breaks(0.0, length)
        value = self.mass_at(place)
        return np.asarray(
            (_widths(place) * (value[..., 1:] + value[..., :-1])).sum(-1) / 2 / length
        )

    def mass_centre(self, length: Real) -> Column:
        """Centre of mass of a tube of a length, from its rear end [m]."""
        place = self.breaks(0.0, length)
        value = self.mass_at(place)
        near, far, before, after = place[..., :-1], place[..., 1:], value[..., :-1], value[..., 1:]
        moment = near * (2 * before + after) + far * (before + 2 * after)
        total = (_widths(place) * moment).sum(-1) / 6
        return np.asarray(total / (self.mean_mass(length) * length))

    def flexibility(self, start: Real, end: Real) -> Column:
        """Deflection under a load at the middle of a span, over that at relative stiffness 1.

        Parameters
        ----------
        start, end : float or column
            Supports, from the shaft's rear end [m].

        Returns
        -------
        Column
            Ratio of the two deflections; its reciprocal is the relative stiffness of the
            uniform shaft with the same deflection.

        References
        ----------
        .. [1] simple-beam
        """
        span = np.asarray(end - start)[..., None, None]
        middle = np.asarray((start + end) / 2)[..., None]
        breaks = np.sort(np.concatenate([self.breaks(start, end), middle], axis=-1))
        place, compliance = self.compliance(breaks)
        moment = (span / 2 - np.abs(place - middle[..., None])) / 2
        return np.asarray((48 / span**3 * compliance * moment**2).sum((-2, -1)))

    def compliance(self, breaks: Column) -> tuple[Column, Column]:
        """Places between breaks, and how far the shaft around each bends under a unit moment.

        Parameters
        ----------
        breaks : Column
            Places that hold all stations between the first and the last, rising [m].

        Returns
        -------
        tuple of Column
            Places [m] and lengths over relative stiffness [m], a row for each two breaks.
        """
        stiffness = self.stiffness_at(breaks)
        width = _widths(breaks)[..., None]
        # Places even in the logarithm of the stiffness leave a smooth integrand.
        growth = np.log(stiffness[..., 1:] / stiffness[..., :-1])[..., None]
        steady = np.abs(growth) < _ALIKE
        growth = np.where(steady, 1.0, growth)
        whole = np.expm1(growth)
        share = np.where(steady, _PLACES, np.expm1(growth * _PLACES) / whole)
        density = np.where(steady, 1.0, growth / whole) / stiffness[..., :-1, None]
        return breaks[..., :-1, None] + width * share, width * density * _WEIGHTS

    def masses(self, breaks: Column) -> tuple[Column, Column]:
        """Places between breaks, and the mass around each at a mass per length of 1.

        Enough places for the sixth moment to be exact.

        Parameters
        ----------
        breaks : Column
            Places that hold all stations between the first and the last, rising [m].

        Returns
        -------
        tuple of Column
            Places [m] and lengths times relative mass [m], a row for each two breaks.
        """
        width, mass = _widths(breaks)[..., None], self.mass_at(breaks)
        before, after = mass[..., :-1, None], mass[..., 1:, None]
        place = breaks[..., :-1, None] + width * _FEW_PLACES
        return place, width * (before + (after - before) * _FEW_PLACES) * _FEW_WEIGHTS

    def breaks(self, start: Real, end: Real) -> Column:
        """Two places and the stations between them, as often as there are stations [m]."""
        first, last = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
        inside = np.clip(self.position, first[..., None], last[..., None])
        breaks = np.empty((*inside.shape[:-1], inside.shape[-1] + 2))
        breaks[..., 0], breaks[..., 1:-1], breaks[..., -1] = first, inside, last
        return breaks

    def tested_between(self, length: Real) -> tuple[Column, Column]:
        """Ends of the shaft that was tested: the tube with what its stations add to it [m]."""
        return np.minimum(0.0, self.position[..., 0]), np.maximum(length, self.position[..., -1])


def _widths(breaks: Column) -> Column:
    return breaks[..., 1:] - breaks[..., :-1]


def _interpolate(place: Column, position: Column, value: Column) -> Column:
    """Interpolate along the last axis; beyond the ends, take the value there."""
    if position.ndim == 1:
        return np.interp(place, position, value)
    above = (position[..., None, :] <= place[..., None]).sum(axis=-1)
    before = np.maximum(above - 1, 0)
    after = np.minimum(above, position.shape[-1] - 1)
    near, far = (np.take_along_axis(position, at, axis=-1) for at in (before, after))
    low, high = (np.take_along_axis(value, at, axis=-1) for at in (before, after))
    width = far - near
    return low + (high - low) * ((place - near) / np.where(width > 0, width, np.inf))


def profile_of(stations: tuple[Station, ...]) -> Profile:
    """Gather stations into a profile."""
    every = profiles_of([stations])
    return Profile(position=every.position[0], stiffness=every.stiffness[0], mass=every.mass[0])


def profiles_of(shafts: Sequence[tuple[Station, ...]]) -> Profile:
    """Gather the stations of many shafts into one profile with a row for each."""
    most = max(map(len, shafts))
    figures = np.array(
        [
            [
                (station.position, station.relative_stiffness, station.relative_mass)
                for station in (*stations, *stations[-1:] * (most - len(stations)))
            ]
            for stations in shafts
        ],
        dtype=float,
    )
    return Profile(position=figures[..., 0], stiffness=figures[..., 1], mass=figures[..., 2])


def tested_flexibility(profile: Profile, start: Real, end: Real) -> Column:
    """Flexibility in the fixed-span test, the span centred on a shaft.

    Parameters
    ----------
    profile : Profile
        Stations of the shaft.
    start, end : float or column
        Ends of the shaft, from the rear end of the tube [m].

    Returns
    -------
    Column
        Deflection over that at relative stiffness 1; nan where the shaft is shorter than
        the span, so that it cannot be tested.

    References
    ----------
    .. [1] astm-f2031
    """
    middle = (start + end) / 2
    found = profile.flexibility(middle - ASTM_SPAN / 2, middle + ASTM_SPAN / 2)
    return np.where(shorter(end - start, ASTM_SPAN), np.nan, found)


def shift(stations: tuple[Station, ...], length: float, removed: float) -> tuple[Station, ...]:
    """Stations seen from a new rear end, made to cover the whole tube first.

    Parameters
    ----------
    stations : tuple of Station
        Stations of the uncut tube.
    length : float
        Length of the uncut tube [m].
    removed : float
        Length taken off its rear end [m].

    Returns
    -------
    tuple of Station
        The same shaft, described from the new rear end.
    """
    profile = profile_of(stations)
    start, end = profile.tested_between(length)
    places = np.union1d(profile.position, [start, end])
    return tuple(
        Station(
            position=float(place - removed),
            relative_stiffness=float(stiffness),
            relative_mass=float(mass),
        )
        for place, stiffness, mass in zip(
            places, profile.stiffness_at(places), profile.mass_at(places), strict=True
        )
    )
