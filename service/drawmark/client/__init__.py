"""A client of a running service: a method for each operation, and a batch as an iterator.

Requests and answers are dictionaries, as `service/docs/calling.md` and the service's own `/docs`
show them. Every operation only computes, so all of them are safe to repeat.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Self

import msgspec
import requests

from drawmark.client.batch import Batch, check_lines
from drawmark.client.connection import Answer, Connection
from drawmark.client.problem import ClientError, ProblemError

__all__ = ["Answer", "Batch", "ClientError", "Drawmark", "ProblemError", "Request"]

Request = Mapping[str, Any]


class Drawmark:
    """A running service.

    A call waits and asks again while the service has no room (503) or the caller asks too often
    (429). It raises ProblemError if the service answers with a problem, and ClientError if it
    does not answer. It warns with DeprecationWarning if a request uses what is on its way out.

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
        self._connection = Connection(url, token, session)

    def __enter__(self) -> Self:
        """Give itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close the connections."""
        self.close()

    def close(self) -> None:
        """Close the connections."""
        self._connection.close()

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
        return check_lines(self._connection, items)

    def _calculate(self, path: str, request: Request) -> Answer:
        connection = self._connection
        return connection.read(path, connection.send("POST", path, msgspec.json.encode(request)))

    def _list(self, name: str) -> list[Answer]:
        connection = self._connection
        return list(connection.read(name, connection.send("GET", name))[name])
