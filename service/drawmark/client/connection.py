"""How requests reach the service: tokens, waiting, and asking again."""

from __future__ import annotations

import re
import sys
import time
import warnings
from typing import Any, Final

import msgspec
import requests
from requests.auth import AuthBase

from drawmark.client.problem import ClientError, problem_of

Answer = dict[str, Any]

MOST_TRIES: Final = 10
LONGEST_WAIT: Final = 30.0
TIMEOUT: Final = (10.0, 300.0)
"""Time to connect, and to wait for the next bytes [s]."""
JSON: Final = "application/json"
_REASON: Final = re.compile(r'rel="deprecation"(?:;\s*\w+="[^"]*")*?;\s*title="([^"]*)"')


class _BearerAuth(AuthBase):
    """Sends the token, and never credentials that this machine keeps for the host."""

    def __init__(self, token: str) -> None:
        self._token = token

    def __call__(self, request: requests.PreparedRequest) -> requests.PreparedRequest:
        request.headers["Authorization"] = f"Bearer {self._token}"
        return request


class Connection:
    """The address of a service, and the session to send with."""

    def __init__(self, url: str, token: str | None, session: requests.Session | None) -> None:
        self._url = f"{url.rstrip('/')}/v1"
        self._session = session or requests.Session()
        if token is not None:
            self._session.auth = _BearerAuth(token)

    def close(self) -> None:
        """Close the connections."""
        self._session.close()

    def send(
        self, method: str, path: str, body: bytes | None = None, kind: str = JSON
    ) -> requests.Response:
        """Send a request, and again where it is told to wait; give the answer if it is one."""
        url = f"{self._url}/{path}"
        headers = {"Content-Type": kind, "Accept": kind}
        try:
            for left in reversed(range(MOST_TRIES)):
                response = self._session.request(
                    method,
                    url,
                    data=body,
                    headers=headers,
                    stream=True,
                    timeout=TIMEOUT,
                    # The token and the archers' data are for this address alone.
                    allow_redirects=False,
                )
                if response.status_code not in (429, 503) or not left:
                    break
                # Or its connection would stay open, unused, while this waits.
                response.close()
                wait = response.headers.get("Retry-After", "1")
                time.sleep(min(float(wait) if wait.isdecimal() else 1.0, LONGEST_WAIT))
            if response.is_redirect:
                elsewhere = response.headers["Location"]
                raise ClientError(f"{url} sends on to {elsewhere}: give the address of the service")
            if response.status_code != 200:
                raise problem_of(url, response)
            if "Deprecation" in response.headers:
                words = _deprecation_in(url, response)
                warnings.warn(words, DeprecationWarning, stacklevel=_calls_inside())
        except requests.RequestException as error:
            raise self.unanswered(path, error) from error
        return response

    def read(self, path: str, response: requests.Response) -> Answer:
        """Read an answer in JSON."""
        try:
            answer: Answer = msgspec.json.decode(response.content, type=dict[str, Any])
        except msgspec.DecodeError as error:
            raise ClientError(f"{self._url}/{path} does not answer in JSON") from error
        except requests.RequestException as error:
            raise self.unanswered(path, error) from error
        return answer

    def unanswered(self, path: str, error: requests.RequestException) -> ClientError:
        """Say why there is no answer."""
        url = f"{self._url}/{path}"
        if isinstance(error, requests.ConnectionError):
            return ClientError(f"{url} does not answer, or the connection broke")
        return ClientError(f"{url}: {error}")


def _deprecation_in(url: str, response: requests.Response) -> str:
    reasons = _REASON.findall(response.headers.get("Link", ""))
    return f"{url}: {' '.join(reasons) or 'the request uses what is on its way out.'}"


def _calls_inside() -> int:
    """Count the calls from `send` out to the line that asked, which a warning points to."""
    frame, level = sys._getframe(1), 1
    while frame.f_globals["__name__"].startswith("drawmark.client") and frame.f_back is not None:
        frame, level = frame.f_back, level + 1
    return level
