"""How often one caller may ask, and who that is."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawmark.web import create_app
from drawmark.web.server.rate_limit import RateLimit, client_address
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules


class Clock:
    now = 0.0

    def __call__(self):
        return self.now


def test_a_second_of_requests_at_once_then_one_by_one():
    clock = Clock()
    limit = RateLimit(4, clock=clock)
    assert [limit.take("a") for _ in range(5)] == [0, 0, 0, 0, 1]
    assert limit.take("b") == 0
    clock.now = 0.25
    assert [limit.take("a") for _ in range(2)] == [0, 1]
    clock.now = 100
    assert [limit.take("a") for _ in range(5)] == [0, 0, 0, 0, 1]


def test_refusals_cost_nothing():
    clock = Clock()
    limit = RateLimit(1, clock=clock)
    limit.take("a")
    for _ in range(100):
        assert limit.take("a") == 1
    clock.now = 1.0
    assert limit.take("a") == 0


@given(
    rate=st.integers(1, 50),
    steps=st.lists(st.floats(0, 2), min_size=1, max_size=200),
)
def test_never_more_than_the_rate_and_a_second_more(rate, steps):
    clock = Clock()
    limit = RateLimit(rate, clock=clock)
    let_in = 0
    for step in steps:
        clock.now += step
        let_in += limit.take("a") == 0
    assert let_in <= rate * (clock.now + 1) + 1e-6


def test_only_the_callers_that_asked_last_are_remembered():
    limit = RateLimit(1, most_callers=3, clock=Clock())
    for caller in "abcad":
        limit.take(caller)
    assert limit.take("a") == 1
    assert limit.take("b") == 0


@pytest.mark.parametrize(
    ("peer", "forwarded", "proxies", "address"),
    [
        pytest.param("192.0.2.1", None, 0, "192.0.2.1", id="peer"),
        pytest.param("192.0.2.1", "198.51.100.7", 0, "192.0.2.1", id="not trusted"),
        pytest.param("192.0.2.1", "198.51.100.7", 1, "198.51.100.7", id="one proxy"),
        pytest.param("192.0.2.1", "9.9.9.9, 198.51.100.7", 1, "198.51.100.7", id="made up"),
        pytest.param("192.0.2.1", "198.51.100.7,192.0.2.9", 2, "198.51.100.7", id="two proxies"),
        pytest.param("192.0.2.1", "198.51.100.7", 2, "192.0.2.1", id="one of two missing"),
        pytest.param("192.0.2.1", None, 1, "192.0.2.1", id="past the proxy"),
        pytest.param("192.0.2.1", "club", 1, "?", id="no address"),
        pytest.param("", None, 0, "?", id="no peer"),
        pytest.param("2001:db8::1:2:3:4", None, 0, "2001:db8::/64", id="a network of IPv6"),
        pytest.param("2001:db8::5:6:7:8", None, 0, "2001:db8::/64", id="the same network"),
        pytest.param("::ffff:192.0.2.1", None, 0, "192.0.2.1", id="IPv4 in IPv6"),
    ],
)
def test_client_address(peer, forwarded, proxies, address):
    environ = {"REMOTE_ADDR": peer}
    if forwarded is not None:
        environ["HTTP_X_FORWARDED_FOR"] = forwarded
    assert client_address(environ, proxies) == address


def test_too_often_is_a_problem_with_the_time_to_wait():
    client = create_app(Settings(rate_limit=2), core_rules()).test_client()
    answers = [client.get("/v1/rules") for _ in range(3)]
    assert [answer.status_code for answer in answers] == [200, 200, 429]
    refused = answers[-1]
    assert refused.headers["Retry-After"] == "1"
    assert refused.mimetype == "application/problem+json"
    assert refused.get_json()["title"] == "Too Many Requests"
    assert client.get("/healthz").status_code == 200
    elsewhere = {"REMOTE_ADDR": "192.0.2.7"}
    assert client.get("/v1/rules", environ_overrides=elsewhere).status_code == 200


def test_a_token_is_one_caller_wherever_it_comes_from(tmp_path):
    file = tmp_path / "tokens"
    # SHA-256 of "abc", the example of FIPS 180-2 (from memory)
    file.write_text("a ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")
    settings = Settings(rate_limit=1, tokens_file=str(file))
    client = create_app(settings, core_rules()).test_client()

    def ask(address, token):
        return client.get(
            "/v1/rules",
            headers={"Authorization": f"Bearer {token}"},
            environ_overrides={"REMOTE_ADDR": address},
        ).status_code

    assert [ask(f"192.0.2.{n}", "abc") for n in range(2)] == [200, 429]
    assert [ask("192.0.2.8", "wrong") for _ in range(2)] == [401, 429]
    assert ask("192.0.2.9", "wrong") == 401
