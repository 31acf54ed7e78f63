"""Settings from the environment, each checked, each fault one line."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

from drawmark.errors import UserError

_OURS: Final = "DRAWMARK_"
_NEAR: Final = 0.8
# What orchestrators tell every container of a service called drawmark.
_THEIRS: Final = re.compile(
    r"\w+_SERVICE_HOST=.*|\w+_SERVICE_PORT(_\w+)?=.*|\w+_PORT(_\d+_\w+)?=\w+://.*"
    r"|\w+_PORT_\d+_(TCP|UDP|SCTP)_\w+=.*",
    re.DOTALL,
)
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
    """Read the settings; SettingError names the first that cannot be used, or is none."""
    usual, read = Settings(), _Reader(environment)
    settings = Settings(
        config=read.text("DRAWMARK_CONFIG") or None,
        workers=read.whole("WEB_CONCURRENCY", usual.workers, 1, 64),
        threads=read.whole("DRAWMARK_THREADS", usual.threads, 1, 64),
        timeout=read.whole("DRAWMARK_TIMEOUT", usual.timeout, 5, 600),
        body_limit=read.whole("DRAWMARK_BODY_LIMIT", usual.body_limit, 1024, 1 << 28),
        stream_limit=read.whole("DRAWMARK_STREAM_LIMIT", usual.stream_limit, 1024, 1 << 40),
        tokens_file=read.text("DRAWMARK_TOKENS_FILE") or None,
        allow_open=read.switch("DRAWMARK_ALLOW_OPEN", usual.allow_open),
        rate_limit=read.whole("DRAWMARK_RATE_LIMIT", usual.rate_limit, 0, 100_000),
        most_at_once=read.whole("DRAWMARK_MOST_AT_ONCE", usual.most_at_once, 0, 63),
        trusted_proxies=read.whole("DRAWMARK_TRUSTED_PROXIES", usual.trusted_proxies, 0, 10),
        cors_origins=read.origins("DRAWMARK_CORS_ORIGINS"),
        revision=read.text("DRAWMARK_REVISION")[:100],
        log_requests=read.switch("DRAWMARK_LOG_REQUESTS", usual.log_requests),
    )
    read.refuse_others()
    if settings.most_at_once >= settings.threads:
        raise SettingError(
            f"DRAWMARK_MOST_AT_ONCE must be below DRAWMARK_THREADS ({settings.threads}), "
            "or no request is ever refused"
        )
    return settings


class _Reader:
    """Reads settings one by one, and knows in the end which names were none."""

    def __init__(self, environment: Mapping[str, str]) -> None:
        self._environment = environment
        self._known: list[str] = []

    def text(self, name: str) -> str:
        self._known.append(name)
        return self._environment.get(name, "")

    def whole(self, name: str, default: int, low: int, high: int) -> int:
        text = self.text(name)
        if not text:
            return default
        try:
            value = int(text)
        except ValueError:
            value = low - 1
        if not low <= value <= high:
            raise SettingError(f"{name} must be a whole number from {low} to {high}, not {text!r}")
        return value

    def switch(self, name: str, default: bool) -> bool:
        text = self.text(name)
        if not text:
            return default
        if text not in ("0", "1"):
            raise SettingError(f"{name} must be 0 or 1, not {text!r}")
        return text == "1"

    def origins(self, name: str) -> tuple[str, ...]:
        text = self.text(name)
        if not text:
            return ()
        origins = tuple(one.strip() for one in text.split(","))
        if not all(map(_ORIGIN.fullmatch, origins)):
            raise SettingError(
                f"{name} must be origins such as https://club.example, with commas between, "
                f"not {text!r}"
            )
        return origins

    def refuse_others(self) -> None:
        """Refuse a slip in a name, which would leave out the club's rules, or who may ask."""
        for name, text in sorted(self._environment.items()):
            ours = name.startswith(_OURS) and not _THEIRS.fullmatch(f"{name}={text}")
            if ours and name not in self._known:
                near = get_close_matches(name, self._known, 1, cutoff=_NEAR)
                hint = f"{near[0]} is" if near else f"those are {', '.join(self._known)}"
                raise SettingError(f"{name} is no setting; {hint}")
