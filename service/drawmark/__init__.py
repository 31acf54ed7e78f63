"""Arrow length, safety, stiffness and balance for archery clubs."""

from __future__ import annotations

from importlib.metadata import version

__version__ = version("drawmark")
