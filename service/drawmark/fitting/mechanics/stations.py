"""Barrelled and tapered shafts: stiffness and mass that change linearly between stations.

The stations describe the shaft that was tested for static spine. A cut keeps them all, so that
the rest keeps its stiffness: they then reach past the tube, with negative positions behind its
rear end.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.fitting.columns import Column
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
    """Relative stiffness and mass along a shaft.

    Parameters
    ----------
    position : Column
        Stations, from the shaft's rear end, ascending [m].
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
        return np.interp(place, self.position, self.stiffness)

    def mass_at(self, place: Column) -> Column:
        """Relative mass at places from the rear end; beyond the stations, that of the last."""
        return np.interp(place, self.position, self.mass)

    def mean_mass(self, length: float) -> float:
        """Mean relative mass of a tube of a length [m]."""
        place = self.breaks(0.0, length)
        value = self.mass_at(place)
        return float(np.dot(np.diff(place), value[1:] + value[:-1]) / 2 / length)

    def mass_centre(self, length: float) -> float:
        """Centre of mass of a tube of a length, from its rear end [m]."""
        place = self.breaks(0.0, length)
        value = self.mass_at(place)
        width, before, after = np.diff(place), value[:-1], value[1:]
        near, far = place[:-1], place[1:]
        moment = np.dot(width, near * (2 * before + after) + far * (before + 2 * after)) / 6
        return float(moment / (self.mean_mass(length) * length))

    def flexibility(self, start: float, end: float) -> float:
        """Deflection under a load at the middle of a span, over that at relative stiffness 1.

        Parameters
        ----------
        start, end : float
            Supports, from the shaft's rear end [m].

        Returns
        -------
        float
            Ratio of the two deflections; its reciprocal is the relative stiffness of the
            uniform shaft with the same deflection.

        References
        ----------
        .. [1] simple-beam
        """
        span, middle = end - start, (start + end) / 2
        place, compliance = self.compliance(np.union1d(self.breaks(start, end), middle))
        moment = (span / 2 - np.abs(place - middle)) / 2
        return float(48 / span**3 * np.sum(compliance * moment**2))

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
        width = np.diff(breaks)[:, None]
        # Places even in the logarithm of the stiffness leave a smooth integrand.
        growth = np.log(stiffness[1:] / stiffness[:-1])[:, None]
        steady = np.abs(growth) < _ALIKE
        growth = np.where(steady, 1.0, growth)
        share = np.where(steady, _PLACES, np.expm1(growth * _PLACES) / np.expm1(growth))
        density = np.where(steady, 1.0, growth / np.expm1(growth)) / stiffness[:-1, None]
        return breaks[:-1, None] + width * share, width * density * _WEIGHTS

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
        width = np.diff(breaks)[:, None]
        place = breaks[:-1, None] + width * _FEW_PLACES
        return place, width * self.mass_at(place) * _FEW_WEIGHTS

    def breaks(self, start: float, end: float) -> Column:
        """Two places and the stations between them [m]."""
        inside = (self.position > start) & (self.position < end)
        return np.concatenate(([start], self.position[inside], [end]))

    def tested_between(self, length: float) -> tuple[float, float]:
        """Ends of the shaft that was tested: the tube with what its stations add to it [m]."""
        return min(0.0, float(self.position[0])), max(length, float(self.position[-1]))


def profile_of(stations: tuple[Station, ...]) -> Profile:
    """Gather stations into a profile."""
    return Profile(
        position=np.array([station.position for station in stations], dtype=float),
        stiffness=np.array([station.relative_stiffness for station in stations], dtype=float),
        mass=np.array([station.relative_mass for station in stations], dtype=float),
    )


def tested_flexibility(profile: Profile, start: float, end: float) -> float | None:
    """Flexibility in the fixed-span test, the span centred on a shaft.

    Parameters
    ----------
    profile : Profile
        Stations of the shaft.
    start, end : float
        Ends of the shaft, from the rear end of the tube [m].

    Returns
    -------
    float or None
        Deflection over that at relative stiffness 1; None where the shaft is shorter than
        the span, so that it cannot be tested.

    References
    ----------
    .. [1] astm-f2031
    """
    if shorter(end - start, ASTM_SPAN):
        return None
    middle = (start + end) / 2
    return profile.flexibility(middle - ASTM_SPAN / 2, middle + ASTM_SPAN / 2)


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
    ends = np.array([start, end])
    places = np.union1d(profile.position, ends)
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
