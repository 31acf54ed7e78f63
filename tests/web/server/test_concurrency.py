"""How many calculations run at once."""

from __future__ import annotations

import pytest
import requests

from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.server.gateway import Gateway
from drawmark.web.settings import Settings
from drawmark.web.wire.callers import Callers
from drawmark.web.wire.installed_rules import core_rules
from servers import wait_for
from web.serving import HeldRequest, serving


class Inner:
    """An application of which a test decides what it does."""

    def __init__(self, answer):
        self.answer = answer

    def __call__(self, environ, start_response):
        start_response("200 OK", [])
        return self.answer()


def call(gateway, method="POST", path="/v1/fit-check"):
    started = []
    environ = {"PATH_INFO": path, "REQUEST_METHOD": method}
    body = gateway(environ, lambda *given: started.append(given))
    return body, started[0][0], dict(started[0][1])


def test_too_many_at_once_until_one_is_sent():
    gateway = Gateway(Inner(lambda: [b"x"]), Settings(most_at_once=1), Callers(core_rules()))
    first, status, _ = call(gateway)
    assert status == "200 OK"
    body, status, headers = call(gateway)
    assert status == "503 Service Unavailable"
    assert headers["Retry-After"] == "1"
    assert b"Too many calculations run at once." in b"".join(body)
    assert call(gateway, "GET", "/v1/rules")[1] == "200 OK"
    assert call(gateway, "GET", "/healthz")[1] == "200 OK"
    first.close()
    assert call(gateway)[1] == "200 OK"


@pytest.mark.parametrize("fault", [RuntimeError, SystemExit, KeyboardInterrupt])
def test_a_fault_takes_no_room(fault):
    def fail():
        raise fault

    gateway = Gateway(Inner(fail), Settings(most_at_once=1), Callers(core_rules()))
    for _ in range(3):
        with pytest.raises(fault):
            call(gateway)


def test_health_is_answered_while_calculations_take_all_the_room(tmp_path):
    # A quarter of the threads wait long for a body: as many as are held here.
    limits = {"WEB_CONCURRENCY": "1", "DRAWMARK_THREADS": "8", "DRAWMARK_MOST_AT_ONCE": "2"}
    with serving(tmp_path, **limits) as served:

        def check():
            return requests.post(
                served.url + "/v1/fit-check", json=EXAMPLES["fit-check"], timeout=10
            )

        held = [HeldRequest(served.url) for _ in range(2)]
        wait_for(lambda: check().status_code == 503)
        assert check().headers["Retry-After"] == "1"
        assert requests.get(served.url + "/healthz", timeout=10).ok
        for one in held:
            assert one.finish().startswith(b"HTTP/1.1 200 ")
        assert check().status_code == 200


def test_room_is_given_back_over_and_over():
    client = create_app(Settings(most_at_once=1), core_rules()).test_client()
    for _ in range(5):
        answer = client.post("/v1/fit-check", json=EXAMPLES["fit-check"])
        assert answer.status_code == 200
        answer.close()
