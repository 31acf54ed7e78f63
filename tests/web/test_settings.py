"""Settings come from the environment, and each fault is one line."""

from __future__ import annotations

import contextlib
from pathlib import Path
from unittest.mock import Mock

import pytest

from drawmark.web.server.gunicorn_server import check_address, is_loopback
from drawmark.web.settings import SettingError, Settings, read_settings

PAGE = (Path(__file__).parents[2] / "service" / "docs" / "operating.md").read_text(encoding="utf-8")


def test_nothing_set_gives_the_defaults():
    assert read_settings({}) == Settings()


@pytest.mark.parametrize(
    ("name", "text", "field", "value"),
    [
        ("WEB_CONCURRENCY", "3", "workers", 3),
        ("DRAWMARK_THREADS", "6", "threads", 6),
        ("DRAWMARK_TIMEOUT", "60", "timeout", 60),
        ("DRAWMARK_DEADLINE", "5", "deadline", 5),
        ("DRAWMARK_SINGLE_DEADLINE", "3", "single_deadline", 3),
        ("DRAWMARK_BODY_LIMIT", "2048", "body_limit", 2048),
        ("DRAWMARK_CONFIG", "club.toml", "config", "club.toml"),
        ("DRAWMARK_ALLOW_OPEN", "1", "allow_open", True),
        ("DRAWMARK_LOG_REQUESTS", "0", "log_requests", False),
        ("DRAWMARK_LOG_ADDRESSES", "1", "log_addresses", True),
        ("DRAWMARK_OPEN_DOCS", "1", "open_docs", True),
        ("DRAWMARK_BENCH", "0", "bench", False),
        ("DRAWMARK_PUBLISHED", "127.0.0.1:80", "published", "127.0.0.1:80"),
        ("DRAWMARK_TOKENS_FILE", "tokens", "tokens_file", "tokens"),
        ("DRAWMARK_RATE_LIMIT", "20", "rate_limit", 20),
        ("DRAWMARK_MOST_AT_ONCE", "3", "most_at_once", 3),
        ("DRAWMARK_TRUSTED_PROXIES", "1", "trusted_proxies", 1),
        (
            "DRAWMARK_CORS_ORIGINS",
            "https://club.example, http://[::1]:8000",
            "cors_origins",
            ("https://club.example", "http://[::1]:8000"),
        ),
    ],
)
def test_setting_is_read_and_explained(name, text, field, value):
    assert getattr(read_settings({name: text}), field) == value
    assert f"| `{name}` |" in PAGE


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("WEB_CONCURRENCY", "0"),
        ("WEB_CONCURRENCY", "two"),
        ("DRAWMARK_THREADS", "65"),
        ("DRAWMARK_TIMEOUT", "1.5"),
        ("DRAWMARK_DEADLINE", "31"),
        ("DRAWMARK_BODY_LIMIT", "-1"),
        ("DRAWMARK_ALLOW_OPEN", "true"),
        ("DRAWMARK_RATE_LIMIT", "0.5"),
        ("DRAWMARK_MOST_AT_ONCE", "64"),
        ("DRAWMARK_TRUSTED_PROXIES", "-1"),
    ],
)
def test_fault_names_the_setting(name, text):
    with pytest.raises(SettingError, match=f"^{name} must be .*'{text}'$"):
        read_settings({name: text})


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("DRAWMARK_TOKEN_FILE", "did you mean DRAWMARK_TOKENS_FILE"),
        ("DRAWMARK_TOKENS", "did you mean DRAWMARK_TOKENS_FILE"),
        ("DRAWMARK_CONFG", "did you mean DRAWMARK_CONFIG"),
        ("DRAWMARK_CONFIG_FILE", "did you mean DRAWMARK_CONFIG"),
        ("DRAWMARK_RATELIMIT", "did you mean DRAWMARK_RATE_LIMIT"),
        ("DRAWMARK_PORT", "use DRAWMARK_CONFIG, WEB_CONCURRENCY, .*"),
    ],
)
def test_a_slip_in_a_name_is_no_start_without_what_was_meant(name, meant):
    with pytest.raises(SettingError, match=rf"^{name} is not a setting; {meant}\??$"):
        read_settings({name: "tokens"})


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("PATH", "bin"),
        ("drawmark_config", "club.toml"),
        # What Kubernetes sets for a service called drawmark: common practice, no source
        ("DRAWMARK_SERVICE_HOST", "10.0.0.11"),
        ("DRAWMARK_SERVICE_PORT", "8080"),
        ("DRAWMARK_SERVICE_PORT_HTTP", "8080"),
        ("DRAWMARK_PORT", "tcp://10.0.0.11:8080"),
        ("DRAWMARK_PORT_8080_TCP", "tcp://10.0.0.11:8080"),
        ("DRAWMARK_PORT_8080_TCP_PROTO", "tcp"),
    ],
)
def test_names_of_others_are_theirs(name, text):
    assert read_settings({name: text}) == Settings()


def test_a_limit_that_could_never_be_reached_is_refused():
    with pytest.raises(SettingError, match=r"must be below DRAWMARK_THREADS \(8\)"):
        read_settings({"DRAWMARK_MOST_AT_ONCE": "8"})
    reached = read_settings({"DRAWMARK_MOST_AT_ONCE": "4", "DRAWMARK_THREADS": "5"})
    assert (reached.most_at_once, reached.threads) == (4, 5)


@pytest.mark.parametrize(
    "text",
    ["*", "null", "club.example", "https://club.example/", "https://Club.example", "https://a.b,"],
)
def test_an_origin_is_exact(text):
    with pytest.raises(SettingError, match=r"^DRAWMARK_CORS_ORIGINS must be origins"):
        read_settings({"DRAWMARK_CORS_ORIGINS": text})


@pytest.mark.parametrize(
    ("host", "settings", "refused"),
    [
        pytest.param("127.0.0.1", Settings(), "", id="loopback"),
        pytest.param("0.0.0.0", Settings(), "DRAWMARK_ALLOW_OPEN=1", id="open by mistake"),
        pytest.param(
            "0.0.0.0", Settings(allow_open=True), "DRAWMARK_TRUSTED_PROXIES=1", id="no proxy"
        ),
        pytest.param("0.0.0.0", Settings(allow_open=True, trusted_proxies=1), "", id="on purpose"),
        pytest.param("0.0.0.0", Settings(tokens_file="t", trusted_proxies=1), "", id="with tokens"),
        *(
            pytest.param(
                "0.0.0.0", Settings(published=at, trusted_proxies=1), words, id=f"published {at}"
            )
            for at, words in (
                ("127.0.0.1:8080", ""),
                ("[::1]:8080", ""),
                ("localhost:8080", ""),
                ("0.0.0.0:8080", "can reach 0.0.0.0: set DRAWMARK_TOKENS_FILE"),
                ("192.0.2.1:8080", "can reach 192.0.2.1: set DRAWMARK_TOKENS_FILE"),
                ("8080", "can reach this one: set DRAWMARK_TOKENS_FILE"),
            )
        ),
        pytest.param(
            "0.0.0.0",
            Settings(published="0.0.0.0:443", tokens_file="t", trusted_proxies=1),
            "",
            id="published with tokens",
        ),
    ],
)
def test_who_may_reach_it(host, settings, refused, monkeypatch):
    # Nothing is bound here: only loopback is listened on in tests.
    monkeypatch.setattr("socket.socket", lambda family: contextlib.nullcontext(Mock()))
    with pytest.raises(SettingError) if refused else contextlib.nullcontext() as fault:
        check_address(host, 1, settings)
    if refused:
        assert refused in str(fault.value)
        assert len(str(fault.value).splitlines()) == 1


@pytest.mark.parametrize(
    ("host", "loopback"),
    [
        ("127.0.0.1", True),
        ("127.8.8.8", True),
        ("::1", True),
        ("localhost", True),
        ("0.0.0.0", False),
        ("::", False),
        ("10.0.0.1", False),
        ("club.example", False),
    ],
)
def test_loopback(host, loopback):
    assert is_loopback(host) == loopback
