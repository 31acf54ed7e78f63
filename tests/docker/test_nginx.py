"""What callers see through nginx while replicas die, and while other callers misbehave."""

import gzip
import json
import os
import signal
import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, suppress
from http.client import HTTPConnection, HTTPResponse
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest
import trustme

from faults.slow import BATCH, ITEMS, PATH
from servers import ask, needs_proc, service, wait_for
from web.wire.bad_bodies import large_bodies

SLOW_CALLERS = 20
IDLE_CONNECTIONS = 1000
FIT_CHECK = "/v1/fit-check"
END_SEEN_AFTER = 0.02
"""How soon a server of the tests sees that it is told to end [s]."""


def kill_and_restart(replicas: list[Any], nginx: Any, load: Callable[[int], Any]) -> Any:
    """Ask through nginx while each replica in turn is killed and started again."""
    with load(nginx.port) as asked:
        for replica in replicas:
            time.sleep(0.4)
            replica.end()
            time.sleep(0.4)
            replica.start()
            # A request is asked twice at most, so the next one lives until this one is asked again.
            read = len(nginx.log.read_text())
            upstream = f'"upstream":"127.0.0.1:{replica.port}"'
            wait_for(lambda: upstream in nginx.log.read_text()[read:])  # noqa: B023
    return asked


@pytest.mark.soak
def test_no_request_fails_while_replicas_are_killed_and_started_again(
    replicas: list[Any], front: Any, load: Any
) -> None:
    nginx = front(*(each.port for each in replicas))
    asked = kill_and_restart(replicas * 2, nginx, load)
    assert asked.failed == []
    assert asked.answered > 200


@pytest.mark.soak
def test_the_same_deaths_are_felt_where_nothing_is_asked_twice(
    replicas: list[Any], front: Any, load: Any
) -> None:
    nginx = front(*(each.port for each in replicas), proxy_next_upstream="off")
    assert kill_and_restart(replicas, nginx, load).failed != []


@pytest.mark.long
@needs_proc
@pytest.mark.parametrize("profile", ["default", "replicas"])
def test_nobody_notices_a_worker_killed_during_a_batch(
    slow_service: Any, front: Any, profile: str
) -> None:
    service, slow = slow_service
    nginx = front(service.port, profile=profile)
    outcomes: list[tuple[int, bytes]] = []
    caller = threading.Thread(target=lambda: outcomes.append(ask(nginx.port, PATH, BATCH)))
    caller.start()
    wait_for(lambda: slow.worker or outcomes)
    assert outcomes == [], "answered before the worker was found"
    killed = slow.worker
    os.kill(killed, signal.SIGKILL)
    assert ask(nginx.port)[0] == 200
    caller.join(20)
    ((status, text),) = outcomes
    assert (status, len(json.loads(text)["items"])) == (200, ITEMS)
    assert slow.worker != killed
    # One request was asked twice; nginx writes its line after the answer.
    twice = f'"upstream":"127.0.0.1:{service.port}, '
    wait_for(lambda: nginx.log.read_text().count(twice) == 1)


def post(
    port: int, body: bytes, path: str = FIT_CHECK, **fields: str
) -> tuple[int, dict[str, str], bytes]:
    caller = HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        caller.request("POST", path, body, {"Content-Type": "application/json"} | fields)
        answer = caller.getresponse()
        return answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read()
    finally:
        caller.close()


def head_of(body: bytes) -> bytes:
    length = f"Content-Length: {len(body)}\r\nConnection: close\r\n\r\n"
    return f"POST {FIT_CHECK} HTTP/1.1\r\nHost: club\r\n".encode() + (
        b"Content-Type: application/json\r\n" + length.encode()
    )


@pytest.mark.long
def test_slow_and_idle_callers_stop_nobody(replicas: list[Any], front: Any, body: bytes) -> None:
    nginx = front(replicas[0].port)
    message = head_of(body) + body
    over = threading.Event()
    with ExitStack() as held:

        def hold() -> socket.socket:
            return held.enter_context(socket.create_connection(("127.0.0.1", nginx.port), 20))

        slow = [hold() for _ in range(SLOW_CALLERS)]
        sent = len(message) - 4
        for caller in slow:
            caller.sendall(message[:sent])

        def trickle() -> None:
            for byte in message[sent:]:
                over.wait(1)
                for caller in slow:
                    caller.sendall(bytes([byte]))

        trickling = threading.Thread(target=trickle)
        trickling.start()
        idle = [hold() for _ in range(IDLE_CONNECTIONS)]
        longest = 0.0
        for _ in range(100):
            start = time.monotonic()
            assert post(nginx.port, body)[0] == 200
            longest = max(longest, time.monotonic() - start)
        assert trickling.is_alive(), "the slow callers were done before the others"
        assert longest < 1
        trickling.join()
        for caller in slow:
            assert caller.recv(100).startswith(b"HTTP/1.1 200 ")
        for caller in idle:
            caller.setblocking(False)
            with pytest.raises(BlockingIOError):
                caller.recv(1)


def test_a_header_that_does_not_arrive_in_time_ends_the_connection(
    standin: Any, front: Any
) -> None:
    nginx = front(standin.server_port, client_header_timeout="1s")
    with socket.create_connection(("127.0.0.1", nginx.port), 20) as caller:
        start = time.monotonic()
        with suppress(OSError):
            for _ in range(50):
                caller.sendall(b"G")
                time.sleep(0.1)
            assert caller.recv(1) == b""
        assert time.monotonic() - start < 4


@pytest.fixture
def standin() -> Iterator[ThreadingHTTPServer]:
    """A server that answers with two lines, the second only when it is let go."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            self.rfile.read(int(self.headers["Content-Length"]))
            self.send_response(200)
            self.send_header("Content-Type", self.headers["Content-Type"])
            self.end_headers()
            self.wfile.write(b'{"index":0}\n')
            self.wfile.flush()
            go_on.wait(2)
            self.wfile.write(b'{"index":1}\n')

        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Keep quiet."""

    go_on = threading.Event()
    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        server.go_on = go_on  # type: ignore[attr-defined]
        thread = threading.Thread(target=server.serve_forever, args=(END_SEEN_AFTER,))
        thread.start()
        yield server
        go_on.set()
        server.shutdown()
        thread.join()


@pytest.mark.parametrize(
    ("kind", "at_once"),
    [
        pytest.param("application/x-ndjson", True, id="lines are passed on as they come"),
        pytest.param("application/json", False, id="one answer is kept until it is whole"),
    ],
)
def test_buffering(standin: Any, front: Any, kind: str, at_once: bool) -> None:
    nginx = front(standin.server_port)
    caller = HTTPConnection("127.0.0.1", nginx.port, timeout=20)
    start = time.monotonic()
    caller.request("POST", PATH, b"{}", {"Content-Type": kind})
    answer = caller.getresponse()
    assert answer.readline() == b'{"index":0}\n'
    assert (time.monotonic() - start < 1) is at_once
    standin.go_on.set()
    assert answer.readline() == b'{"index":1}\n'
    caller.close()


LIMITS = {
    "/v1/fit-check": 64 << 10,
    "/v1/replacement": 5824 << 10,
    "/v1/kit/sets": 3072 << 10,
    "/v1/kit/labels": 4928 << 10,
    "//v1/kit/labels": 4928 << 10,
    PATH: 32 << 20,
}


@pytest.mark.parametrize(("path", "most"), LIMITS.items(), ids=LIMITS)
def test_limits_of_bodies(standin: Any, front: Any, path: str, most: int) -> None:
    port = front(standin.server_port).port
    standin.go_on.set()
    kind = {"Content-Type": "application/x-ndjson" if path == PATH else "application/json"}
    assert post(port, b" " * most, path, **kind)[0] == 200
    assert post(port, b" " * (most + 1), path, **kind)[0] == 413


def raw(port: int, message: bytes) -> tuple[int, dict[str, str], bytes]:
    """Send bytes as they are, and read one answer."""
    with socket.create_connection(("127.0.0.1", port), 20) as caller:
        caller.sendall(message)
        with HTTPResponse(caller) as answer:
            answer.begin()
            return answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read()


class Dying:
    """A server that answers GET, counts every POST, and closes its connection after a time."""

    def __init__(self, seconds: float) -> None:
        self.seconds, self.requests = seconds, 0
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.port: int = self.listener.getsockname()[1]
        threading.Thread(target=self.accept, daemon=True).start()

    def accept(self) -> None:
        with suppress(OSError):
            while True:
                caller, _ = self.listener.accept()
                threading.Thread(target=self.take, args=(caller,), daemon=True).start()

    def take(self, caller: socket.socket) -> None:
        with caller:
            while (message := caller.recv(65536)).startswith(b"GET"):
                time.sleep(0.05)
                caller.sendall(b"HTTP/1.1 200 OK\r\nContent-Length: 0\r\n\r\n")
            if message:
                self.requests += 1
                time.sleep(self.seconds)


@pytest.mark.parametrize(
    ("seconds", "replaced", "asked", "status"),
    [
        pytest.param(0, {}, 2, 502, id="dies at once, twice"),
        pytest.param(1.5, {"proxy_next_upstream_timeout": "1s"}, 1, 502, id="dies after a while"),
        pytest.param(9, {"proxy_read_timeout": "1s"}, 1, 504, id="is never answered"),
    ],
)
@pytest.mark.parametrize("profile", ["default", "replicas"])
def test_a_request_is_asked_at_most_twice(
    front: Any,
    body: bytes,
    profile: str,
    seconds: float,
    replaced: dict[str, str],
    asked: int,
    status: int,
) -> None:
    servers = [Dying(seconds) for _ in range(1 if profile == "default" else 3)]
    nginx = front(*(server.port for server in servers), profile=profile, **replaced)
    with ThreadPoolExecutor(16) as callers:
        # A connection that was kept would be tried without being counted.
        assert set(callers.map(lambda _: ask(nginx.port, "/", None)[0], range(32))) == {200}
    found, fields, _ = post(nginx.port, body)
    assert (found, sum(server.requests for server in servers)) == (status, asked)
    assert int(fields["retry-after"]) > 0
    for server in servers:
        server.listener.close()


def test_a_request_that_is_asked_twice_counts_once(front: Any, body: bytes) -> None:
    servers = [Dying(0) for _ in range(3)]
    nginx = front(*(server.port for server in servers), rate=50)
    found = [post(nginx.port, body)[0] for _ in range(100)]
    assert (set(found), sum(server.requests for server in servers)) == ({502}, 200)
    for server in servers:
        server.listener.close()


@pytest.mark.soak
@needs_proc
@pytest.mark.parametrize(("profile", "count"), [("default", 1), ("replicas", 3)])
def test_bad_bodies_end_no_worker_and_no_other_request(
    front: Any, load: Any, tmp_path: Any, profile: str, count: int
) -> None:
    with ExitStack() as running:
        services = [service(tmp_path, f"bad-{number}") for number in range(count)]
        for one in services:
            running.callback(one.end)
            one.start()
        wait_for(lambda: all(len(one.children) == 2 for one in services))
        workers = [one.children for one in services]
        nginx = front(*(one.port for one in services), profile=profile)
        with load(nginx.port) as others:
            for path, bad in large_bodies():
                status, fields, text = post(nginx.port, bad, f"/v1/{path}")
                assert status in (400, 413, 422), (path, bad[:60])
                assert fields["content-type"] == "application/problem+json"
                assert json.loads(text)["status"] == status
        assert [one.children for one in services] == workers
        assert others.failed == []
        assert others.answered > 50


REFUSALS = {
    "no such method": (b"GET / OUR/1\r\n\r\n", 400),
    "two lengths": (
        b"POST / HTTP/1.1\r\nHost: c\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n",
        400,
    ),
    "a body too large": (
        b"POST /v1/fit-check HTTP/1.1\r\nHost: c\r\nConnection: close\r\n"
        b"Content-Length: 99999999\r\n\r\n",
        413,
    ),
    "an address too long": (b"GET /" + b"a" * 9000 + b" HTTP/1.1\r\nHost: c\r\n\r\n", 414),
    "another coding": (
        b"POST /v1/fit-check HTTP/1.1\r\nHost: c\r\nConnection: close\r\n"
        b"Transfer-Encoding: other\r\n\r\n",
        501,
    ),
    "another version": (b"GET / HTTP/9.9\r\nHost: c\r\n\r\n", 505),
    "a header too large": (
        b"GET / HTTP/1.1\r\nHost: c\r\nX-Long: " + b"a" * 9000 + b"\r\n\r\n",
        431,
    ),
    "a batch too large": (
        b"POST /v1/fit-check/batch HTTP/1.1\r\nHost: c\r\nConnection: close\r\n"
        b"Content-Length: 99999999\r\n\r\n",
        413,
    ),
    "a chunk without a size": (
        b"POST /v1/fit-check HTTP/1.1\r\nHost: c\r\nConnection: close\r\n"
        b"Transfer-Encoding: chunked\r\n\r\nno size\r\n{}\r\n0\r\n\r\n",
        400,
    ),
    "figures": (b"GET /metrics HTTP/1.1\r\nHost: c\r\nConnection: close\r\n\r\n", 403),
    "figures, spelt otherwise": (
        b"GET //%6detrics/. HTTP/1.1\r\nHost: c\r\nConnection: close\r\n\r\n",
        403,
    ),
}


@pytest.mark.parametrize(("message", "status"), REFUSALS.values(), ids=REFUSALS)
def test_refusals_are_problems(standin: Any, front: Any, message: bytes, status: int) -> None:
    found, fields, body = raw(front(standin.server_port).port, message)
    problem = json.loads(body)
    assert (found, problem["status"]) == (status, status)
    assert problem["type"] == ("/problems/413" if status == 413 else "about:blank")
    assert fields["content-type"] == "application/problem+json"
    assert "retry-after" not in fields


@pytest.mark.parametrize(("path", "size"), [(FIT_CHECK, 500), ("/v1/kit/assignments", 9 << 20)])
def test_no_service_is_a_problem_that_says_when_to_ask_again(
    unused_port: int, front: Any, path: str, size: int
) -> None:
    status, fields, text = post(front(unused_port).port, b" " * size, path)
    assert (status, json.loads(text)["status"]) == (502, 502)
    assert fields["content-type"] == "application/problem+json"
    assert int(fields["retry-after"]) > 0


def test_figures_are_let_out_to_addresses_that_are_named(
    standin: Any, front: Any, tmp_path: Any
) -> None:
    (tmp_path / "metrics").mkdir()
    (tmp_path / "metrics" / "club.conf").write_text("allow 127.0.0.1;\n")
    message = b"GET /metrics HTTP/1.1\r\nHost: c\r\nConnection: close\r\n\r\n"
    assert raw(front(standin.server_port).port, message)[0] == 200


@pytest.mark.parametrize("status", [200, 502])
def test_the_log_holds_what_was_asked_but_no_query_and_no_body(
    standin: Any, front: Any, unused_port: int, status: int
) -> None:
    nginx = front(standin.server_port if status == 200 else unused_port)
    standin.go_on.set()
    post(nginx.port, b'{"archer":"a secret"}', f"{FIT_CHECK}?name=secret")
    # nginx writes its line after the answer.
    end = time.monotonic() + 10
    while '"path"' not in (log := nginx.log.read_text()):
        assert time.monotonic() < end
        time.sleep(0.05)
    (line,) = (line for line in log.splitlines() if line.startswith("{"))
    assert "secret" not in line
    noted = json.loads(line)
    assert (noted["method"], noted["path"], noted["status"]) == ("POST", FIT_CHECK, status)


@pytest.fixture
def echo() -> Iterator[ThreadingHTTPServer]:
    """A server that answers with the caller's address as nginx states it, and much more."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            fields = self.headers
            told = {"caller": fields["X-Forwarded-For"], "scheme": fields["X-Forwarded-Proto"]}
            body = json.dumps({**told, "more": "x" * 10_000}).encode()
            self.send_response(200)
            self.send_header("Content-Type", self.path[1:].replace(".", "/"))
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            """Keep quiet."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever, args=(END_SEEN_AFTER,))
        thread.start()
        yield server
        server.shutdown()
        thread.join()


def get(port: int, path: str = "/application.json", **fields: str) -> tuple[HTTPResponse, bytes]:
    caller = HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        caller.request("GET", path, headers=fields)
        answer = caller.getresponse()
        return answer, answer.read()
    finally:
        caller.close()


@pytest.mark.parametrize(
    ("trusted", "caller"),
    [
        pytest.param("", "127.0.0.1", id="not believed"),
        pytest.param("set_real_ip_from 127.0.0.1;", "192.0.2.7", id="of a trusted proxy"),
        pytest.param("set_real_ip_from 192.0.2.0/24;", "127.0.0.1", id="of another"),
    ],
)
def test_the_address_that_a_proxy_states(
    echo: Any, front: Any, tmp_path: Any, trusted: str, caller: str
) -> None:
    (tmp_path / "proxies").mkdir()
    (tmp_path / "proxies" / "club.conf").write_text(trusted)
    nginx = front(echo.server_port)
    stated = {"X-Forwarded-For": "198.51.100.1, 192.0.2.7"}
    assert json.loads(get(nginx.port, **stated)[1])["caller"] == caller


@pytest.mark.parametrize(("addresses", "address"), [(0, ""), (1, "127.0.0.1")])
def test_addresses_are_in_the_log_by_setting(
    echo: Any, front: Any, addresses: int, address: str
) -> None:
    nginx = front(echo.server_port, addresses=addresses)
    get(nginx.port)
    wait_for(lambda: '"path"' in nginx.log.read_text())
    (line,) = (json.loads(line) for line in nginx.log.read_text().splitlines() if line[:1] == "{")
    assert (line["level"], line["message"], line["address"]) == ("info", "answered", address)


@pytest.mark.parametrize(
    ("kind", "coding"),
    [
        ("application.json", "gzip"),
        ("text.csv", "gzip"),
        ("application.x-ndjson", None),
        ("image.png", None),
    ],
)
def test_large_answers_are_compressed_for_who_accepts_it(
    echo: Any, front: Any, kind: str, coding: str | None
) -> None:
    nginx = front(echo.server_port)
    answer, body = get(nginx.port, f"/{kind}", **{"Accept-Encoding": "gzip"})
    assert answer.headers["Content-Encoding"] == coding
    plain = get(nginx.port, f"/{kind}")[1]
    assert (gzip.decompress(body) if coding else body) == plain


def test_tls_with_a_certificate_of_ones_own(echo: Any, front: Any, tmp_path: Any) -> None:
    authority = trustme.CA()
    certificate = authority.issue_cert("club.example")
    (tmp_path / "certificates").mkdir()
    certificate.private_key_pem.write_to_path(str(tmp_path / "certificates" / "privkey.pem"))
    chain = b"".join(each.bytes() for each in certificate.cert_chain_pems)
    (tmp_path / "certificates" / "fullchain.pem").write_bytes(chain)
    nginx = front(echo.server_port, scheme="https")
    context = ssl.create_default_context()
    authority.configure_trust(context)
    with (
        socket.create_connection(("127.0.0.1", nginx.port), 20) as plain,
        context.wrap_socket(plain, server_hostname="club.example") as caller,
    ):
        assert caller.version() in ("TLSv1.2", "TLSv1.3")
        caller.sendall(b"GET /application.json HTTP/1.1\r\nHost: club.example\r\n\r\n")
        with HTTPResponse(caller) as answer:
            answer.begin()
            assert (answer.status, json.loads(answer.read())["scheme"]) == (200, "https")
    # Without TLS nothing is answered but a problem.
    status, fields, body = raw(nginx.port, b"GET / HTTP/1.1\r\nHost: club.example\r\n\r\n")
    assert (status, json.loads(body)["status"]) == (400, 400)
    assert fields["content-type"] == "application/problem+json"
