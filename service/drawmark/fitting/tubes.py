"""Tubes with their masses, many side by side, cut into elements."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from drawmark.fitting import stations as tapers
from drawmark.fitting.assembly import projection_of
from drawmark.fitting.columns import Column
from drawmark.fitting.elements import PLACES, WEIGHTS
from drawmark.fitting.limits import TOLERANCE
from drawmark.fitting.model import Arrow
from drawmark.fitting.shaft import parts_of, reference_stiffness

UNIFORM_ELEMENTS: Final = 12
TAPERED_ELEMENTS: Final = 24


@dataclass(frozen=True, kw_only=True, slots=True)
class Tubes:
    """A stack of tubes; places run from the rear end of each.

    Parameters
    ----------
    length : Column
        Length of each tube [m].
    stiffness : Column
        E I by tube, element and place within it [N m^2].
    density : Column
        Mass per length by tube, element and place within it [kg/m].
    spans : Column
        Masses spread evenly, by tube: mass [kg], start and end [m].
    lumps : Column
        Masses at one place, by tube: mass [kg] and place [m], beyond the ends on a rigid arm.
    """

    length: Column
    stiffness: Column
    density: Column
    spans: Column
    lumps: Column

    @property
    def mass(self) -> Column:
        """Mass of each tube with all it carries [kg]."""
        own = (self.density @ WEIGHTS).mean(axis=1) * self.length
        return np.asarray(own + self.spans[..., 0].sum(axis=1) + self.lumps[..., 0].sum(axis=1))


def stack(
    length: Sequence[float] | Column,
    stiffness: Sequence[float] | Column,
    density: Sequence[float] | Column,
    *,
    spans: Sequence[Sequence[Sequence[float]]] = (),
    lumps: Sequence[Sequence[Sequence[float]]] = (),
    elements: int = UNIFORM_ELEMENTS,
) -> Tubes:
    """Stack uniform tubes.

    Parameters
    ----------
    length : sequence of float
        Length of each [m].
    stiffness : sequence of float
        E I of each [N m^2].
    density : sequence of float
        Mass per length of each [kg/m].
    spans, lumps : sequence
        What each carries, as in Tubes; as many for each.
    elements : int
        Elements to a tube.

    Returns
    -------
    Tubes
        The stack.
    """
    count = len(length)
    shape = (count, elements, len(PLACES))
    return Tubes(
        length=np.asarray(length, dtype=float),
        stiffness=np.broadcast_to(np.asarray(stiffness, dtype=float)[:, None, None], shape),
        density=np.broadcast_to(np.asarray(density, dtype=float)[:, None, None], shape),
        spans=np.asarray(spans, dtype=float).reshape(count, -1, 3),
        lumps=np.asarray(lumps, dtype=float).reshape(count, -1, 2),
    )


def tubes_of(arrows: Sequence[Arrow], elements: int | None = None) -> Tubes:
    """Stack the tubes of arrows of single figures.

    Parameters
    ----------
    arrows : sequence of Arrow
        Arrows with length, static spine, mass per length and point mass.
    elements : int, optional
        Elements to a tube; by default 12, or 24 where a shaft has stations.

    Returns
    -------
    Tubes
        The stack, in order.

    Raises
    ------
    FittingError
        Where one of the four is not given, or a shaft with stations cannot be tested.
    """
    tapered = any(arrow.shaft is not None and arrow.shaft.stations for arrow in arrows)
    elements = elements or (TAPERED_ELEMENTS if tapered else UNIFORM_ELEMENTS)
    carried = [_carried(arrow) for arrow in arrows]
    most_spans = max(len(spans) for _, spans, _ in carried)
    most_lumps = max(len(lumps) for _, _, lumps in carried)
    tubes = stack(
        [length for length, _, _ in carried],
        [float(reference_stiffness(arrow)) for arrow in arrows],
        [_density(arrow) for arrow in arrows],
        spans=[spans + [(0.0, 0.0, 1.0)] * (most_spans - len(spans)) for _, spans, _ in carried],
        lumps=[lumps + [(0.0, 0.0)] * (most_lumps - len(lumps)) for _, _, lumps in carried],
        elements=elements,
    )
    return _tapered(tubes, arrows) if tapered else tubes


def _density(arrow: Arrow) -> float:
    assert arrow.shaft is not None
    assert arrow.shaft.mass_per_length is not None
    return float(arrow.shaft.mass_per_length)


def _carried(
    arrow: Arrow,
) -> tuple[float, list[tuple[float, float, float]], list[tuple[float, float]]]:
    rear = float(projection_of(arrow))
    tube, *parts = parts_of(arrow)
    spans, lumps = [], []
    for part in parts:
        start, end = float(part.start) - rear, float(part.end) - rear
        if end - start > TOLERANCE:
            spans.append((float(part.mass), start, end))
        else:
            lumps.append((float(part.mass), (start + end) / 2))
    return float(tube.end) - float(tube.start), spans, lumps


def _tapered(tubes: Tubes, arrows: Sequence[Arrow]) -> Tubes:
    elements = tubes.stiffness.shape[1]
    places = (np.arange(elements)[:, None] + PLACES) / elements
    stiffness, density = tubes.stiffness.copy(), tubes.density.copy()
    for index, arrow in enumerate(arrows):
        if arrow.shaft is not None and arrow.shaft.stations is not None:
            profile = tapers.profile_of(arrow.shaft.stations)
            stiffness[index] *= profile.stiffness_at(places * tubes.length[index])
            density[index] *= profile.mass_at(places * tubes.length[index])
    return Tubes(
        length=tubes.length,
        stiffness=stiffness,
        density=density,
        spans=tubes.spans,
        lumps=tubes.lumps,
    )
