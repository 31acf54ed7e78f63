"""Barrelled and tapered shafts: stiffness and mass that change linearly between stations.

The stations describe the shaft that was tested for static spine. A cut keeps them all, so that
the rest keeps its stiffness: they then reach past the tube, with negative positions behind its
rear end.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import Final

import numpy as np

from drawmark.fitting.columns import Column, Real
from drawmark.fitting.limits import shorter
from drawmark.fitting.mechanics.pieces import Pieces, pieces_between
from drawmark.fitting.model import Station
from drawmark.fitting.units import ASTM_SPAN

_FIGURES: Final = attrgetter("position", "relative_stiffness", "relative_mass")


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

    def mass_and_centre(self, length: float) -> tuple[float, float]:
        """Mass of one tube of a length at a mass per length of 1, and its centre [m]."""
        place = np.clip(self.position, 0.0, length)
        place = np.concatenate(([0.0], place, [length]))
        value, width = self.mass_at(place), np.diff(place)
        near, far, before, after = place[:-1], place[1:], value[:-1], value[1:]
        mass = float((width * (before + after)).sum()) / 2
        moment = near * (2 * before + after) + far * (before + 2 * after)
        return mass, float((width * moment).sum()) / 6 / mass

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
        rear, front = np.atleast_1d(start, end)
        pieces = self.pieces(np.stack([rear, (rear + front) / 2, front], axis=1))
        shaft, ahead = np.divmod(pieces.home, 2)
        # The moment at a place is half its distance from the nearer support.
        middle = np.where(ahead, front[shaft] - pieces.middle, pieces.middle - rear[shaft])
        side = pieces.width / np.where(ahead, -2, 2)
        even, turned, aside = pieces.bends()
        work = pieces.sum((even * middle + 2 * turned * side) * middle + aside * side * side)
        found = 12 / (front - rear) ** 3 * work.reshape(-1, 2).sum(axis=1)
        return np.asarray(found.reshape(np.shape(start)))

    def pieces(self, places: Column) -> Pieces:
        """Divide each shaft at its stations and at places, rising from its rear end [m]."""
        return pieces_between(
            places, *map(np.atleast_2d, (self.position, self.stiffness, self.mass))
        )

    def tested_between(self, length: Real) -> tuple[Column, Column]:
        """Ends of the shaft that was tested: the tube with what its stations add to it [m]."""
        return np.minimum(0.0, self.position[..., 0]), np.maximum(length, self.position[..., -1])


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
            [*map(_FIGURES, stations), *map(_FIGURES, stations[-1:] * (most - len(stations)))]
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
    first, last = stations[0], stations[-1]
    if first.position > 0:
        stations = (dataclasses.replace(first, position=0.0), *stations)
    if last.position < length:
        stations = (*stations, dataclasses.replace(last, position=length))
    if not removed:
        return stations
    return tuple(
        [
            Station(
                position=one.position - removed,
                relative_stiffness=one.relative_stiffness,
                relative_mass=one.relative_mass,
            )
            for one in stations
        ]
    )
