"""Static figures of one arrow."""

from __future__ import annotations

from drawmark.fitting.mechanics.arrow_parts import reference_stiffnesses, static_spines
from drawmark.fitting.mechanics.beam import own_length_deflections
from drawmark.fitting.model import Arrow


def stiffness_of(arrow: Arrow) -> float:
    """Its reference stiffness [N m^2]."""
    return float(reference_stiffnesses((arrow,))[0])


def spine_of(arrow: Arrow) -> float | None:
    """Its static spine, as E I [N m^2]."""
    return static_spines((arrow,), reference_stiffnesses((arrow,)))[0]


def deflection_of(arrow: Arrow) -> float:
    """Its own-length deflection [m]."""
    return float(own_length_deflections((arrow,), reference_stiffnesses((arrow,)))[0])
