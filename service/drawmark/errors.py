"""Faults that a user can mend; the command line shows them without a traceback."""

from __future__ import annotations


class UserError(ValueError):
    """A fault outside the program; its text has one line for each fault."""
