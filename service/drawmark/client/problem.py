"""Errors that the client raises, and the problem document behind one."""

from __future__ import annotations

from typing import Any

import msgspec
import requests

from drawmark.errors import UserError


class ClientError(UserError):
    """The service cannot be reached, refuses, or stops in the middle; or there is no item."""


class ProblemError(ClientError):
    """A problem that the service answered: `status`, `title`, `detail`, and `errors`.

    Each of the errors is a fault of the request, with its `pointer` and its `detail`.
    """

    def __init__(
        self, url: str, status: int, title: str, detail: str, errors: list[dict[str, str]]
    ) -> None:
        faults = "".join(f"; {one.get('pointer')} {one.get('detail')}" for one in errors)
        super().__init__(f"{url} refused with status {status}: {detail}{faults}")
        self.status, self.title, self.detail, self.errors = status, title, detail, errors


def problem_of(url: str, response: requests.Response) -> ProblemError:
    """Read a problem out of an answer, whatever that answer is."""
    try:
        document: dict[str, Any] = msgspec.json.decode(response.content, type=dict[str, Any])
    except msgspec.DecodeError:
        document = {}
    return ProblemError(
        url,
        response.status_code,
        str(document.get("title", response.reason)),
        str(document.get("detail", response.reason)),
        document.get("errors", []),
    )
