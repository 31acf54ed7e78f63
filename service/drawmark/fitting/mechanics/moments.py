"""Moments of mass within an element: sums of m z^p, z being the place in it from 0 to 1."""

from __future__ import annotations

from typing import Final

import numpy as np

from drawmark.fitting.columns import Column

MOMENTS: Final = 7
ORDERS: Final = np.arange(1, MOMENTS + 1)


def powers(value: Column, first: int) -> Column:
    """Seven powers of values from the first on, along a new last axis."""
    factors = np.empty((*value.shape, MOMENTS + first))
    factors[..., 0] = 1.0
    factors[..., 1:] = value[..., None]
    return np.multiply.accumulate(factors, axis=-1)[..., first:]
