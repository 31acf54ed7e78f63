"""What a user can mend: the command line tells it without a traceback."""

from __future__ import annotations


class UserError(ValueError):
    """Something outside the program is not as it must be; the text has a line for each fault."""
