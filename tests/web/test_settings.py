"""Settings come from the environment, and each fault is one line."""

from __future__ import annotations

from pathlib import Path

import pytest

from drawmark.web.server import is_loopback
from drawmark.web.settings import SettingError, Settings, read_settings

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def test_nothing_set_gives_the_defaults():
    assert read_settings({}) == Settings()


@pytest.mark.parametrize(
    ("name", "text", "field", "value"),
    [
        ("WEB_CONCURRENCY", "3", "workers", 3),
        ("DRAWMARK_THREADS", "8", "threads", 8),
        ("DRAWMARK_TIMEOUT", "60", "timeout", 60),
        ("DRAWMARK_BODY_LIMIT", "2048", "body_limit", 2048),
        ("DRAWMARK_CONFIG", "club.toml", "config", "club.toml"),
        ("DRAWMARK_ALLOW_OPEN", "1", "allow_open", True),
        ("DRAWMARK_LOG_REQUESTS", "0", "log_requests", False),
    ],
)
def test_setting_is_read_and_in_the_readme(name, text, field, value):
    assert getattr(read_settings({name: text}), field) == value
    assert name in README


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("WEB_CONCURRENCY", "0"),
        ("WEB_CONCURRENCY", "two"),
        ("DRAWMARK_THREADS", "65"),
        ("DRAWMARK_TIMEOUT", "1.5"),
        ("DRAWMARK_BODY_LIMIT", "-1"),
        ("DRAWMARK_ALLOW_OPEN", "true"),
    ],
)
def test_fault_names_the_setting(name, text):
    with pytest.raises(SettingError, match=f"^{name} must be .*'{text}'$"):
        read_settings({name: text})


def test_nobody_believes_in_tokens_that_are_not_asked_for():
    with pytest.raises(SettingError, match="asks nobody for tokens"):
        read_settings({"DRAWMARK_TOKENS_FILE": "tokens"})


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
