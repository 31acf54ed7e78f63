"""Settings from the environment, each checked, each fault one line."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from drawmark.errors import UserError

_TOKENS_FILE: Final = "DRAWMARK_TOKENS_FILE"
_ORIGIN: Final = re.compile(
    r"https?://[a-z0-9.-]+(:[0-9]{1,5})?|https?://\[[0-9a-f:]+\](:[0-9]{1,5})?"
)


class SettingError(UserError):
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
    stream_limit : int
        Largest body of a streamed batch, which is kept in a temporary file [byte].
    tokens_file : str or None
        File of those who may ask; None where nobody is asked who they are.
    allow_open : bool
        May listen beyond loopback without tokens.
    rate_limit : int
        Requests a second of one caller in each worker; 0 for no limit.
    most_at_once : int
        Calculations at once in each worker; 0 for as many as there are threads.
    trusted_proxies : int
        Proxies in front whose word for the caller's address is taken.
    cors_origins : tuple of str
        Origins whose pages may ask.
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
    stream_limit: int = 256 * 1024 * 1024
    tokens_file: str | None = None
    allow_open: bool = False
    rate_limit: int = 0
    most_at_once: int = 0
    trusted_proxies: int = 0
    cors_origins: tuple[str, ...] = ()
    revision: str = ""
    log_requests: bool = True


def read_settings(environment: Mapping[str, str] = os.environ) -> Settings:
    """Read the settings; SettingError names the first that cannot be used."""
    for name in environment:
        # A slip here would leave the service open to all.
        if name != _TOKENS_FILE and name.startswith(_TOKENS_FILE.removesuffix("S_FILE")):
            raise SettingError(f"{name} is no setting; {_TOKENS_FILE} is")
    usual = Settings()
    settings = Settings(
        config=environment.get("DRAWMARK_CONFIG") or None,
        workers=_whole(environment, "WEB_CONCURRENCY", usual.workers, 1, 64),
        threads=_whole(environment, "DRAWMARK_THREADS", usual.threads, 1, 64),
        timeout=_whole(environment, "DRAWMARK_TIMEOUT", usual.timeout, 5, 600),
        body_limit=_whole(environment, "DRAWMARK_BODY_LIMIT", usual.body_limit, 1024, 1 << 28),
        stream_limit=_whole(
            environment, "DRAWMARK_STREAM_LIMIT", usual.stream_limit, 1024, 1 << 40
        ),
        tokens_file=environment.get(_TOKENS_FILE) or None,
        allow_open=_switch(environment, "DRAWMARK_ALLOW_OPEN", usual.allow_open),
        rate_limit=_whole(environment, "DRAWMARK_RATE_LIMIT", usual.rate_limit, 0, 100_000),
        most_at_once=_whole(environment, "DRAWMARK_MOST_AT_ONCE", usual.most_at_once, 0, 63),
        trusted_proxies=_whole(
            environment, "DRAWMARK_TRUSTED_PROXIES", usual.trusted_proxies, 0, 10
        ),
        cors_origins=_origins(environment, "DRAWMARK_CORS_ORIGINS"),
        revision=environment.get("DRAWMARK_REVISION", "")[:100],
        log_requests=_switch(environment, "DRAWMARK_LOG_REQUESTS", usual.log_requests),
    )
    if settings.most_at_once >= settings.threads:
        raise SettingError(
            f"DRAWMARK_MOST_AT_ONCE must be below DRAWMARK_THREADS ({settings.threads}), "
            "or no request is ever refused"
        )
    return settings


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


def _origins(environment: Mapping[str, str], name: str) -> tuple[str, ...]:
    text = environment.get(name)
    if not text:
        return ()
    origins = tuple(one.strip() for one in text.split(","))
    if not all(map(_ORIGIN.fullmatch, origins)):
        raise SettingError(
            f"{name} must be origins such as https://club.example, with commas between, "
            f"not {text!r}"
        )
    return origins
