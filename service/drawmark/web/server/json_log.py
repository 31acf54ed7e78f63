"""Lines of the log: each is JSON with a time, a level and a message."""

from __future__ import annotations

import logging
from datetime import UTC, datetime

import msgspec


class JsonFormatter(logging.Formatter):
    """Writes a record as a line; a traceback stands in a member of its own."""

    def format(self, record: logging.LogRecord) -> str:
        """Write a record."""
        line = {
            "time": datetime.fromtimestamp(record.created, UTC),
            "level": record.levelname.lower(),
            "message": _text(record.getMessage()),
        }
        if record.exc_info:
            line["traceback"] = _text(self.formatException(record.exc_info))
        return msgspec.json.encode(line).decode()


def _text(words: str) -> str:
    """Give words without what no text may hold, such as a byte of a file's name."""
    return words.encode(errors="backslashreplace").decode()
