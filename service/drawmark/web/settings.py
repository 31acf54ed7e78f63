"""Settings from the environment, each checked, each fault one line."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass


class SettingError(ValueError):
    """A setting that cannot be used; its text is one clear line."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Settings:
    """Settings of the service.

    Parameters
    ----------
    config : str or None
        The club's configuration file.
    workers, threads : int
        Worker processes, and threads in each.
    timeout : int
        Seconds until a worker that shows no life is replaced [s].
    body_limit : int
        Largest body of a request [byte].
    allow_open : bool
        May listen beyond loopback.
    revision : str
        Revision that was built.
    log_requests : bool
        A line in the log for each request.
    """

    config: str | None = None
    workers: int = 2
    threads: int = 4
    timeout: int = 30
    body_limit: int = 16 * 1024 * 1024
    allow_open: bool = False
    revision: str = ""
    log_requests: bool = True


def read_settings(environment: Mapping[str, str] = os.environ) -> Settings:
    """Read the settings; SettingError names the first that cannot be used."""
    if environment.get("DRAWMARK_TOKENS_FILE"):
        # Who sets it believes that callers are asked who they are: they are not.
        raise SettingError("DRAWMARK_TOKENS_FILE is set, and this version asks nobody for tokens")
    return Settings(
        config=environment.get("DRAWMARK_CONFIG") or None,
        workers=_whole(environment, "WEB_CONCURRENCY", 2, 1, 64),
        threads=_whole(environment, "DRAWMARK_THREADS", 4, 1, 64),
        timeout=_whole(environment, "DRAWMARK_TIMEOUT", 30, 5, 600),
        body_limit=_whole(environment, "DRAWMARK_BODY_LIMIT", 16 << 20, 1024, 1 << 28),
        allow_open=_switch(environment, "DRAWMARK_ALLOW_OPEN", False),
        revision=environment.get("DRAWMARK_REVISION", "")[:100],
        log_requests=_switch(environment, "DRAWMARK_LOG_REQUESTS", True),
    )


def _whole(environment: Mapping[str, str], name: str, default: int, low: int, high: int) -> int:
    text = environment.get(name)
    if not text:
        return default
    try:
        value = int(text)
    except ValueError:
        value = low - 1
    if not low <= value <= high:
        raise SettingError(f"{name} must be a whole number from {low} to {high}, not {text!r}")
    return value


def _switch(environment: Mapping[str, str], name: str, default: bool) -> bool:
    text = environment.get(name)
    if not text:
        return default
    if text not in ("0", "1"):
        raise SettingError(f"{name} must be 0 or 1, not {text!r}")
    return text == "1"
