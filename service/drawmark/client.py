"""A client of a running service: a method for each operation, and a batch as an iterator.

Requests and answers are dictionaries, as `service/docs/calling.md` and the service's own `/docs`
show them. Every operation only computes, so all of them are safe to repeat.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final, Self

import msgspec
import requests
from requests.auth import AuthBase

from drawmark.blocks import blocks_of
from drawmark.errors import UserError

Request = Mapping[str, Any]
Answer = dict[str, Any]

BLOCK_ITEMS: Final = 2000
BLOCK_SIZE: Final = 8 * 1024 * 1024
MOST_TRIES: Final = 10
LONGEST_WAIT: Final = 30.0
TIMEOUT: Final = (10.0, 300.0)
"""Time to connect, and to wait for the next bytes [s]."""
_JSON: Final = "application/json"
_NDJSON: Final = "application/x-ndjson"
_INDEX: Final = b'{"index":'


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


class _Summary(msgspec.Struct):
    """The last line of a batch, without what holds for all items."""

    items: int
    problems: int


class _BearerAuth(AuthBase):
    """Sends the token, and never credentials that this machine keeps for the host."""

    def __init__(self, token: str) -> None:
        self._token = token

    def __call__(self, request: requests.PreparedRequest) -> requests.PreparedRequest:
        request.headers["Authorization"] = f"Bearer {self._token}"
        return request


class Batch(Iterator[Answer]):
    """Answers of a batch, in order, each with its `index`, `status`, and `result` or `problem`.

    After the last of them `summary` holds how many there were, and what holds for all: what no
    figure can tell, and cautions to show.
    """

    def __init__(self, lines: Iterator[bytes]) -> None:
        self._lines = lines
        self.summary: Answer = {}

    def __next__(self) -> Answer:
        """Give the next answer."""
        line = next(self._lines)
        answer: Answer = msgspec.json.decode(line)
        if line.startswith(_INDEX):
            return answer
        self.summary = answer
        raise StopIteration


class Drawmark:
    """A running service.

    A call waits and asks again while the service has no room (503) or the caller asks too often
    (429). It raises ProblemError if the service answers with a problem, and ClientError if it
    does not answer.

    Parameters
    ----------
    url : str
        Address of the service.
    token : str or None
        Token, if the service asks for one.
    session : requests.Session or None
        Session to send with, for proxies or certificates of your own.
    """

    def __init__(
        self,
        url: str = "http://127.0.0.1:8080",
        token: str | None = None,
        *,
        session: requests.Session | None = None,
    ) -> None:
        self._url = f"{url.rstrip('/')}/v1"
        self._session = session or requests.Session()
        if token is not None:
            self._session.auth = _BearerAuth(token)

    def __enter__(self) -> Self:
        """Give itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close the connections."""
        self.close()

    def close(self) -> None:
        """Close the connections."""
        self._session.close()

    def minimum_length(self, request: Request) -> Answer:
        """Ask how short is too short to be safe."""
        return self._calculate("minimum-length", request)

    def recommended_length(self, request: Request) -> Answer:
        """Ask how long the arrow should be, and whether to cut."""
        return self._calculate("recommended-length", request)

    def longest_draw(self, request: Request) -> Answer:
        """Ask how far a given arrow may be drawn."""
        return self._calculate("longest-draw", request)

    def spine(self, request: Request) -> Answer:
        """Ask what a cut or another point does to the arrow's stiffness."""
        return self._calculate("spine", request)

    def replacement(self, request: Request) -> Answer:
        """Ask which other shaft acts like known arrows."""
        return self._calculate("replacement", request)

    def balance(self, request: Request) -> Answer:
        """Ask for mass, balance point and front of centre."""
        return self._calculate("balance", request)

    def clicker(self, request: Request) -> Answer:
        """Ask how far the clicker's blade moves after a change, and whether it can."""
        return self._calculate("clicker", request)

    def fit_check(self, request: Request) -> Answer:
        """Ask whether this archer may safely shoot these arrows from this bow."""
        return self._calculate("fit-check", request)

    def fit_check_batch(self, items: Iterable[Request]) -> Batch:
        """Ask for any number of fit checks, sent and answered block by block."""
        return Batch(self.check_lines(map(msgspec.json.encode, items)))

    def cut_plan(self, request: Request) -> Answer:
        """Ask how much to cut off next, and how likely that is to go too far."""
        return self._calculate("cut-plan", request)

    def order(self, request: Request) -> Answer:
        """Ask which shafts to order, and how long to have them cut."""
        return self._calculate("order", request)

    def delivery(self, request: Request) -> Answer:
        """Ask which arrows of a delivery are short, and what may still be done with them."""
        return self._calculate("delivery", request)

    def kit_assignments(self, request: Request) -> Answer:
        """Ask which set of the rack each archer shoots tonight."""
        return self._calculate("kit/assignments", request)

    def kit_labels(self, request: Request) -> Answer:
        """Ask how far each set of the rack may be drawn, and until when that is enough."""
        return self._calculate("kit/labels", request)

    def kit_lengths(self, request: Request) -> Answer:
        """Ask which few lengths serve everyone, and what they waste."""
        return self._calculate("kit/lengths", request)

    def kit_consistency(self, request: Request) -> Answer:
        """Ask which arrows do not belong to their set."""
        return self._calculate("kit/consistency", request)

    def kit_sets(self, request: Request) -> Answer:
        """Ask which arrows of a mixed box make sets that are alike."""
        return self._calculate("kit/sets", request)

    def rules(self) -> list[Answer]:
        """List the rules of the active plugins."""
        return self._list("rules")

    def plugins(self) -> list[Answer]:
        """List the installed plugins, including those that failed to load."""
        return self._list("plugins")

    def rulesets(self) -> list[Answer]:
        """List the rule sets, with the settings of their plugins."""
        return self._list("rulesets")

    def units(self) -> list[Answer]:
        """List the units, and the range of each field in each unit."""
        return self._list("units")

    def sources(self) -> list[Answer]:
        """List the sources of constants."""
        return self._list("sources")

    def check_lines(self, items: Iterable[bytes]) -> Iterator[bytes]:
        """Send fit checks that are JSON texts; give a text for each, and last the summary."""
        answered = problems = 0
        last: Answer = {}
        for block in blocks_of(items, BLOCK_ITEMS, BLOCK_SIZE):
            start, line = answered, b""
            for line in self._check_block(block):
                if line.startswith(_INDEX):
                    # The service counts from the beginning of each request.
                    yield b"%s%d,%s" % (_INDEX, answered, line.partition(b",")[2])
                    answered += 1
            try:
                summary = msgspec.json.decode(line, type=_Summary)
            except msgspec.DecodeError:
                summary = _Summary(items=-1, problems=0)
            if not summary.items == answered - start == len(block):
                raise ClientError(f"the answer was cut off after {answered} items")
            problems += summary.problems
            last = msgspec.json.decode(line)
        if not answered:
            # Nothing was checked, which must not look as if all were well.
            raise ClientError("there is no item to check")
        yield msgspec.json.encode({**last, "items": answered, "problems": problems})

    def _check_block(self, block: list[bytes]) -> Iterator[bytes]:
        path = "fit-check/batch"
        response = self._send("POST", path, b"\n".join(block), _NDJSON)
        try:
            yield from filter(None, response.iter_lines(chunk_size=1 << 16, delimiter=b"\n"))
        except requests.RequestException as error:
            raise self._unanswered(path, error) from error

    def _calculate(self, path: str, request: Request) -> Answer:
        return self._read(path, self._send("POST", path, msgspec.json.encode(request)))

    def _list(self, name: str) -> list[Answer]:
        return list(self._read(name, self._send("GET", name))[name])

    def _send(
        self, method: str, path: str, body: bytes | None = None, kind: str = _JSON
    ) -> requests.Response:
        url = f"{self._url}/{path}"
        headers = {"Content-Type": kind, "Accept": kind}
        try:
            for _ in range(MOST_TRIES):
                response = self._session.request(
                    method, url, data=body, headers=headers, stream=True, timeout=TIMEOUT
                )
                if response.status_code not in (429, 503):
                    break
                wait = response.headers.get("Retry-After", "1")
                time.sleep(min(float(wait) if wait.isdecimal() else 1.0, LONGEST_WAIT))
            if response.status_code != 200:
                raise _problem_of(url, response)
        except requests.RequestException as error:
            raise self._unanswered(path, error) from error
        return response

    def _read(self, path: str, response: requests.Response) -> Answer:
        try:
            answer: Answer = msgspec.json.decode(response.content, type=dict[str, Any])
        except msgspec.DecodeError as error:
            raise ClientError(f"{self._url}/{path} does not answer in JSON") from error
        except requests.RequestException as error:
            raise self._unanswered(path, error) from error
        return answer

    def _unanswered(self, path: str, error: requests.RequestException) -> ClientError:
        url = f"{self._url}/{path}"
        if isinstance(error, requests.ConnectionError):
            return ClientError(f"{url} does not answer, or the connection broke")
        return ClientError(f"{url}: {error}")


def _problem_of(url: str, response: requests.Response) -> ProblemError:
    try:
        document: Answer = msgspec.json.decode(response.content, type=dict[str, Any])
    except msgspec.DecodeError:
        document = {}
    return ProblemError(
        url,
        response.status_code,
        str(document.get("title", response.reason)),
        str(document.get("detail", response.reason)),
        document.get("errors", []),
    )
