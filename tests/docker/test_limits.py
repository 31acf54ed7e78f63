"""How often callers may ask, as nginx counts before all services together."""

import json
import re
import signal
import socket
import threading
import time
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, closing
from http.client import HTTPConnection
from typing import Any

import pytest

from drawmark.tokens import make_token
from nginx import SETTINGS, nginx
from servers import FIT_CHECK, free_port, service, wait_for

RATE, BURST = 50, 100
ADDRESS_RATE, ADDRESS_BURST = 500, 1000
UNDER_WAY = 100
CLOSED = "/metrics"
"""A path that nginx refuses by itself, after it has counted: 403 is let in, 429 is refused."""
PIPELINED = 700
"""nginx closes a connection after 1,000 requests."""


def token(letter: str) -> dict[str, str]:
    """The header of a token, as long as they are made."""
    return {"Authorization": f"Bearer {letter * 43}"}


def at(address: str) -> dict[str, str]:
    """The header in which a trusted proxy states an address."""
    return {"X-Forwarded-For": address}


def message(fields: Mapping[str, str], path: str = CLOSED, method: str = "GET") -> bytes:
    head = "".join(f"{name}: {value}\r\n" for name, value in fields.items())
    return f"{method} {path} HTTP/1.1\r\nHost: club\r\n{head}\r\n".encode()


def statuses(port: int, callers: Sequence[Mapping[str, str]], path: str = CLOSED) -> list[int]:
    """Ask once as each caller, without a pause, and give the statuses in order."""
    found: list[int] = []
    for start in range(0, len(callers), PIPELINED):
        *first, last = callers[start : start + PIPELINED]
        asked = [message(one, path) for one in first]
        asked.append(message({**last, "Connection": "close"}, path))
        with socket.create_connection(("127.0.0.1", port), 20) as connection:
            connection.sendall(b"".join(asked))
            received = b"".join(iter(lambda: connection.recv(1 << 16), b""))
        found += map(int, re.findall(rb"^HTTP/1\.1 (\d+) ", received, re.MULTILINE))
    assert len(found) == len(callers)
    return found


@pytest.fixture(scope="module")
def limited(tmp_path_factory: Any, needs_nginx: None) -> Iterator[int]:
    """The port of nginx with the limits of compose.yaml, that believes what addresses we state."""
    folder = tmp_path_factory.mktemp("limited")
    (folder / "proxies").mkdir()
    (folder / "proxies" / "here.conf").write_text("set_real_ip_from 127.0.0.1;\n")
    process = nginx(folder, [free_port()], rate=RATE)
    try:
        process.start()
        yield process.port
    finally:
        process.end(signal.SIGTERM)


def test_a_file_of_limits_is_named_after_its_rate() -> None:
    for file in (SETTINGS / "limits").iterdir():
        rates = re.findall(r"\$limited_caller \S+ rate=(\d+)r/s;", file.read_text())
        assert rates == ([] if file.stem == "0" else [file.stem])


@pytest.mark.parametrize(
    ("callers", "most", "rate"),
    [
        pytest.param([token("a")] * 700, BURST, RATE, id="with a token"),
        pytest.param([at("192.0.2.1")] * 700, BURST, RATE, id="without a token"),
        pytest.param(
            [{**at("192.0.2.3"), "Authorization": f"Bearer {place:043}"} for place in range(3500)],
            ADDRESS_BURST,
            ADDRESS_RATE,
            id="with a new token each time",
        ),
    ],
)
def test_many_at_once_and_then_the_rate(
    limited: int, callers: list[dict[str, str]], most: int, rate: int
) -> None:
    begun = time.monotonic()
    found = Counter(statuses(limited, callers))
    seconds = time.monotonic() - begun
    assert found.keys() == {403, 429}
    assert most + 1 <= found[403] <= most + 2 + rate * seconds


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        pytest.param(token("b"), token("b") | at("192.0.2.10"), True, id="token, elsewhere"),
        pytest.param(
            token("c"), {"Authorization": f"bEARER   {'c' * 43} "}, True, id="token, as spelt"
        ),
        pytest.param(
            token("j"),
            {"Authorization": f"\tBearer {'j' * 43}\t "} | at("192.0.2.21"),
            True,
            id="token, between tabs",
        ),
        pytest.param(token("d"), token("D"), False, id="token in capitals"),
        pytest.param(token("e"), token("f"), False, id="another token"),
        pytest.param(token("g") | at("192.0.2.11"), at("192.0.2.11"), False, id="no token"),
        pytest.param(at("192.0.2.12"), token("h") | at("192.0.2.12"), False, id="now a token"),
        pytest.param(at("192.0.2.13"), at("192.0.2.14"), False, id="another address"),
        pytest.param(
            at("2001:db8:0:1::1"), at("2001:db8:0:1:ff::2"), True, id="the same network of IPv6"
        ),
        pytest.param(at("2001:db8::1:0:0:0:1"), at("2001:db8::1"), False, id="another network"),
        pytest.param(at("192.0.2.15"), at("::ffff:192.0.2.15"), True, id="IPv4 in IPv6"),
        pytest.param(at("::ffff:192.0.2.16"), at("::ffff:192.0.2.17"), False, id="two of them"),
        pytest.param(
            at("192.0.2.18"),
            {**at("192.0.2.18"), "Authorization": "Basic Y2x1YjpjbHVi"},
            True,
            id="other credentials",
        ),
        pytest.param(
            {**at("192.0.2.19"), "Authorization": "Bearer cccc"},
            at("99.99.99.99"),
            False,
            id="an address as a token",
        ),
        pytest.param(
            {**at("192.0.2.20"), "Authorization": f"Bearer {'i' * 200}"},
            at("192.0.2.20"),
            True,
            id="a token that was not made here",
        ),
    ],
)
def test_who_is_the_same_caller(
    limited: int, one: dict[str, str], other: dict[str, str], alike: bool
) -> None:
    *_, a, b, c, d, e = statuses(limited, [one] * 300 + [other] * 5)
    # Meanwhile one more may be due.
    assert ([a, b, c, d, e].count(429) >= 4) is alike


def test_health_is_free(limited: int) -> None:
    caller = token("j") | at("192.0.2.30")
    for path in ("/healthz", "/readyz", "/readyz?full"):
        assert set(statuses(limited, [caller] * 150, path)) == {502}
    assert 429 in statuses(limited, [caller] * 150, "/healthz/")


def test_more_callers_than_the_memory_holds(limited: int) -> None:
    callers = [
        {**at(f"198.18.{place >> 8}.{place & 255}"), "Authorization": f"Bearer x{place:042}"}
        for place in range(20_000)
    ]
    assert set(statuses(limited, callers)) == {403}


def test_requests_under_way_of_one_address(limited: int) -> None:
    near, far = at("192.0.2.40"), at("192.0.2.41")
    begun = message({**near, "Content-Length": "9"}, "/v1/fit-check", "POST")
    with ExitStack() as held:
        for _ in range(UNDER_WAY):
            one = held.enter_context(socket.create_connection(("127.0.0.1", limited), 20))
            one.sendall(begun)
        wait_for(lambda: statuses(limited, [near]) == [429])
        assert statuses(limited, [far]) == [403]
    wait_for(lambda: statuses(limited, [near]) == [403])


def test_nobody_is_limited_where_the_rate_is_none(front: Any, unused_port: int) -> None:
    assert set(statuses(front(unused_port, rate=0).port, [{}] * 1400)) == {403}


def test_a_refusal_is_a_problem_and_the_log_tells_on_nobody(front: Any, unused_port: int) -> None:
    process = front(unused_port, rate=RATE)
    caller = token("k") | {"User-Agent": "of-a-caller"}
    status = 0
    with closing(HTTPConnection("127.0.0.1", process.port, timeout=20)) as connection:
        while status != 429:
            statuses(process.port, [caller] * 300, "/metrics?secret=1")
            connection.request("POST", "/v1/kit/assignments", b" " * (9 << 20), caller)
            answer = connection.getresponse()
            status, problem = answer.status, json.loads(answer.read())
    assert (problem["status"], problem["title"]) == (429, "Too Many Requests")
    assert problem["type"] == "/problems/429"
    assert answer.headers.get_content_type() == "application/problem+json"
    assert int(answer.headers["Retry-After"]) == 1
    wait_for(lambda: process.log.read_text().count('"status":429') >= 100)
    lines = process.log.read_text().splitlines()
    assert not [line for line in lines if "limiting" in line]
    refused = [line for line in lines if '"status":429' in line]
    assert not re.search("kkkk|secret|127[.]0[.]0[.]1|of-a-caller", "".join(refused))


# Three services


OWN_RATE = 40
"""Of each worker: more than a third of what nginx lets through, even at once."""


@pytest.fixture(scope="module")
def three(tmp_path_factory: Any) -> Iterator[tuple[list[int], list[str]]]:
    """Three services of one worker each: their ports, and tokens that they know."""
    folder = tmp_path_factory.mktemp("three")
    made = [make_token(name) for name in ("run-away", "patient")]
    (folder / "tokens").write_text("".join(f"{line}\n" for _, line in made))
    settings = {
        "WEB_CONCURRENCY": "1",
        "DRAWMARK_TOKENS_FILE": str(folder / "tokens"),
        "DRAWMARK_RATE_LIMIT": str(OWN_RATE),
    }
    services = [service(folder, f"service-{place}", **settings) for place in range(3)]
    with ExitStack() as running, ThreadPoolExecutor() as starting:
        for one in services:
            running.callback(one.end)
        list(starting.map(lambda one: one.start(), services))
        yield [one.port for one in services], [word for word, _ in made]


def check(caller: HTTPConnection, word: str) -> tuple[int, str]:
    """Ask for a fit check: the status, and what a problem says."""
    fields = {"Content-Type": "application/json", "Authorization": f"Bearer {word}"}
    caller.request("POST", "/v1/fit-check", FIT_CHECK, fields)
    answer = caller.getresponse()
    return answer.status, json.loads(answer.read()).get("detail", "")


class RunAway:
    """A script that asks without a pause, on a few connections, until told to end."""

    def __init__(self, port: int, word: str) -> None:
        self.answers: Counter[tuple[int, str]] = Counter()
        self._over = threading.Event()
        self._threads = [threading.Thread(target=self._ask, args=(port, word)) for _ in range(3)]

    def _ask(self, port: int, word: str) -> None:
        with closing(HTTPConnection("127.0.0.1", port, timeout=20)) as caller:
            while not self._over.is_set():
                self.answers[check(caller, word)] += 1

    def __enter__(self) -> "RunAway":
        self._begun = time.monotonic()
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        for thread in self._threads:
            thread.join(30)
        self.seconds = time.monotonic() - self._begun


@pytest.mark.long
def test_one_caller_gets_its_rate_of_three_services_and_others_notice_nothing(
    front: Any, three: tuple[list[int], list[str]]
) -> None:
    ports, (hasty, patient) = three
    process = front(*ports, rate=RATE)
    with (
        closing(HTTPConnection("127.0.0.1", process.port, timeout=20)) as other,
        RunAway(process.port, hasty) as script,
    ):
        for _ in range(30):
            time.sleep(0.1)
            assert check(other, patient) == (200, "")
    answered = script.answers.pop((200, ""))
    allowed = BURST + 1 + RATE * script.seconds
    assert 0.8 * allowed < answered <= allowed + 1
    ((status, detail),) = script.answers
    assert status == 429
    assert "too much at once" in detail
    lines = [json.loads(line) for line in process.log.read_text().splitlines() if line[:1] == "{"]
    shares = Counter(line["upstream"] for line in lines if line["status"] == 200)
    assert min(shares[f"127.0.0.1:{port}"] for port in ports) > 0.2 * answered


@pytest.mark.long
def test_behind_nginx_each_worker_keeps_a_limit_of_its_own(
    front: Any, three: tuple[list[int], list[str]]
) -> None:
    ports, (hasty, _) = three
    process = front(ports[0], profile="default", rate=0)
    with RunAway(process.port, hasty) as script:
        wait_for(lambda: len(script.answers) > 1)
    assert script.answers.pop((200, "")) <= OWN_RATE * (1 + script.seconds) + 1
    assert script.answers.keys() == {(429, "This caller asks too often. Ask again in 1 s.")}
