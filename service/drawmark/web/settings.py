"""Settings from the environment: each is checked, and each fault is one line."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

from drawmark.errors import UserError

OPEN_PATHS: Final = frozenset(("/healthz", "/readyz"))
"""Paths that need no token and have no limits."""
DOCUMENT_PATHS: Final = frozenset(("/docs", "/openapi.json"))
"""Paths that need no token if the setting says so; a browser sends none."""
MAINTAINER_PATHS: Final = frozenset(("/metrics", "/v1/plugins"))
"""Paths of a maintainer's token, which belongs to no club."""
_PREFIX: Final = "DRAWMARK_"
_SIMILARITY: Final = 0.8
# Variables that orchestrators set in every container of a service called drawmark.
_FOREIGN: Final = re.compile(
    r"\w+_SERVICE_HOST=.*|\w+_SERVICE_PORT(_\w+)?=.*|\w+_PORT(_\d+_\w+)?=\w+://.*"
    r"|\w+_PORT_\d+_(TCP|UDP|SCTP)_\w+=.*",
    re.DOTALL,
)
_ORIGIN: Final = re.compile(
    r"https?://[a-z0-9.-]+(:[0-9]{1,5})?|https?://\[[0-9a-f:]+\](:[0-9]{1,5})?"
)


class SettingError(UserError):
    """A setting that cannot be used; its text is one line."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Settings:
    """Settings of the service."""

    config: str | None = None
    """The club's configuration file, or a folder with one for each club."""
    workers: int = 2
    """Worker processes."""
    threads: int = 8
    """Threads in each worker."""
    timeout: int = 30
    """Time without a sign of life until a worker is replaced [s]."""
    deadline: int = 10
    """Time in which a request is answered or refused [s]."""
    single_deadline: int = 2
    """The same for a request about one archer, which takes milliseconds [s]."""
    body_limit: int = 16 * 1024 * 1024
    """Largest body of a request [byte]."""
    stream_limit: int = 256 * 1024 * 1024
    """Largest body of a streamed batch, which is kept in a temporary file [byte]."""
    tokens_file: str | None = None
    """File of tokens; None if no token is needed."""
    allow_open: bool = False
    """May listen beyond loopback without tokens."""
    rate_limit: int = 0
    """Requests a second of one caller in each worker; 0 for no limit."""
    most_at_once: int = 0
    """Calculations at once in each worker; 0 for no limit."""
    trusted_proxies: int = 0
    """Proxies in front that are trusted to state the caller's address."""
    cors_origins: tuple[str, ...] = ()
    """Origins whose pages may ask."""
    revision: str = ""
    """Revision that was built."""
    log_requests: bool = True
    """Log a line for each request."""
    log_addresses: bool = False
    """Log the caller's address in each line of a request."""
    published: str = ""
    """Where the proxy in front listens; empty if callers come to the service itself."""
    open_docs: bool = False
    """Show `/docs` and the document without a token."""
    bench: bool = True
    """Show the coach's page at `/`."""


def read_settings(environment: Mapping[str, str] = os.environ) -> Settings:
    """Read the settings; SettingError names the first that is wrong or unknown."""
    default, read = Settings(), _Reader(environment)
    settings = Settings(
        config=read.text("DRAWMARK_CONFIG") or None,
        workers=read.whole("WEB_CONCURRENCY", default.workers, 1, 64),
        threads=read.whole("DRAWMARK_THREADS", default.threads, 1, 64),
        timeout=read.whole("DRAWMARK_TIMEOUT", default.timeout, 5, 600),
        deadline=read.whole("DRAWMARK_DEADLINE", default.deadline, 1, 30),
        single_deadline=read.whole("DRAWMARK_SINGLE_DEADLINE", default.single_deadline, 1, 30),
        body_limit=read.whole("DRAWMARK_BODY_LIMIT", default.body_limit, 1024, 1 << 28),
        stream_limit=read.whole("DRAWMARK_STREAM_LIMIT", default.stream_limit, 1024, 1 << 40),
        tokens_file=read.text("DRAWMARK_TOKENS_FILE") or None,
        allow_open=read.switch("DRAWMARK_ALLOW_OPEN", default.allow_open),
        rate_limit=read.whole("DRAWMARK_RATE_LIMIT", default.rate_limit, 0, 100_000),
        most_at_once=read.whole("DRAWMARK_MOST_AT_ONCE", default.most_at_once, 0, 63),
        trusted_proxies=read.whole("DRAWMARK_TRUSTED_PROXIES", default.trusted_proxies, 0, 10),
        cors_origins=read.origins("DRAWMARK_CORS_ORIGINS"),
        revision=read.text("DRAWMARK_REVISION")[:100],
        log_requests=read.switch("DRAWMARK_LOG_REQUESTS", default.log_requests),
        log_addresses=read.switch("DRAWMARK_LOG_ADDRESSES", default.log_addresses),
        published=read.text("DRAWMARK_PUBLISHED"),
        open_docs=read.switch("DRAWMARK_OPEN_DOCS", default.open_docs),
        bench=read.switch("DRAWMARK_BENCH", default.bench),
    )
    read.refuse_unknown()
    if settings.most_at_once >= settings.threads:
        raise SettingError(
            f"DRAWMARK_MOST_AT_ONCE must be below DRAWMARK_THREADS ({settings.threads}): "
            "otherwise it never refuses a request"
        )
    return settings


class _Reader:
    """Reads settings one by one, and remembers which names are known."""

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
                f"{name} must be origins such as https://club.example, separated by commas, "
                f"not {text!r}"
            )
        return origins

    def refuse_unknown(self) -> None:
        """Refuse a misspelt name: it could leave out the club's rules or its tokens."""
        for name, text in sorted(self._environment.items()):
            ours = name.startswith(_PREFIX) and not _FOREIGN.fullmatch(f"{name}={text}")
            if ours and name not in self._known:
                near = get_close_matches(name, self._known, 1, cutoff=_SIMILARITY)
                hint = f"did you mean {near[0]}?" if near else f"use {', '.join(self._known)}"
                raise SettingError(f"{name} is not a setting; {hint}")
