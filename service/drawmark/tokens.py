"""Bearer tokens: who may ask, and the file that names them.

Each line of the file is a name, the SHA-256 of a token in hex, and what the token may, such as
`club=elm-hall rulesets=beginners,indoor rate=20`. Empty lines and lines that begin with # are
skipped. The file holds no token, so reading it lets nobody in.
"""

from __future__ import annotations

import hashlib
import os
import re
import secrets
import stat
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from drawmark.errors import UserError

MOST_TOKENS: Final = 10_000
RANDOM_BYTES: Final = 32
NAME: Final = re.compile(r"[a-z][a-z0-9-]{0,59}")
MAINTAINER: Final = "maintainer"
"""The word that lets a token see the service's own figures, and nothing of any club."""
WHOLES: Final = {"rate": 100_000, "items": 10_000_000, "at_once": 63}
"""Limits that a line may set, each with the largest that it may be."""
WORDS: Final = ("club", "rulesets", *WHOLES)
_ENTRY: Final = re.compile(rf"({NAME.pattern})[ \t]+([0-9a-f]{{64}})((?:[ \t]+\S+)*)")
_CREDENTIALS: Final = re.compile(r"bearer +([A-Za-z0-9._~+/=-]{1,200})", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True, slots=True)
class Token:
    """What the file says of a token.

    Parameters
    ----------
    name : str
        Its name; empty where no token is asked for.
    line : int
        Line of the file.
    club : str
        The club that it belongs to; empty where the service has one club's file.
    maintainer : bool
        It sees the service's own figures, and nothing of any club.
    rulesets : tuple of str
        Rule sets that it may name, its default first; all of the club's where empty.
    rate : int
        Requests a second in each worker; 0 for the service's own limit.
    items : int
        Most items of a batch or a stream; 0 for the service's own limit.
    at_once : int
        Calculations at once in each worker; 0 for the service's own limit.
    """

    name: str
    line: int = 0
    club: str = ""
    maintainer: bool = False
    rulesets: tuple[str, ...] = ()
    rate: int = 0
    items: int = 0
    at_once: int = 0


@dataclass(frozen=True, slots=True)
class Tokens:
    """The tokens of a file, by their SHA-256; `where` names the file in messages."""

    where: str
    by_digest: Mapping[bytes, Token]

    def find(self, authorization: str) -> Token | None:
        """Find the token in an Authorization header; None if it is unknown."""
        credentials = _CREDENTIALS.fullmatch(authorization.strip(" "))
        if credentials is None:
            return None
        # How long a look-up takes may depend on the digest, but nobody can choose that of a guess:
        # whatever is learnt of a known digest leads to no token.
        return self.by_digest.get(hashlib.sha256(credentials[1].encode("ascii")).digest())

    def fault(self, token: Token, detail: str) -> UserError:
        """Make the fault of a token's line."""
        return _fault_of_line(self.where, token.line, detail)


def read_tokens(path: str) -> Tokens:
    """Read a file of tokens; UserError names the line of a fault and never shows it."""
    where = f"DRAWMARK_TOKENS_FILE {path}"
    try:
        with open(path, encoding="utf-8", errors="replace") as file:
            mode = os.fstat(file.fileno()).st_mode
            lines = file.read().split("\n")
    except OSError as error:
        raise UserError(f"{where} cannot be read: {error.strerror}") from error
    if stat.S_ISREG(mode) and mode & stat.S_IWOTH:
        raise UserError(
            f"{where} can be written by everybody, who could let themselves in: "
            "take that from others with `chmod o-w`"
        )
    found: dict[bytes, Token] = {}
    names: set[str] = set()
    for number, line in enumerate(map(str.strip, lines), start=1):
        if not line or line.startswith("#"):
            continue
        try:
            digest, token = _read_line(line, number)
        except ValueError as error:
            raise _fault_of_line(where, number, str(error)) from None
        if token.name in names or digest in found:
            raise _fault_of_line(where, number, "repeats a name or token")
        if len(found) == MOST_TOKENS:
            raise _fault_of_line(where, number, f"more than {MOST_TOKENS} tokens")
        found[digest] = token
        names.add(token.name)
    if not found:
        raise UserError(
            f"{where} holds no token, so nobody could ask: make one with `drawmark token new NAME`"
        )
    return Tokens(where, found)


def _fault_of_line(where: str, number: int, detail: str) -> UserError:
    return UserError(f"{where}, line {number}: {detail}")


def _read_line(line: str, number: int) -> tuple[bytes, Token]:
    """Read a line; ValueError says what is wrong with it, and shows nothing of it."""
    entry = _ENTRY.fullmatch(line)
    if entry is None:
        raise ValueError("must be a name and a SHA-256 in hex")
    return bytes.fromhex(entry[2]), Token(name=entry[1], line=number, **_grants(entry[3].split()))


def _grants(words: Iterable[str]) -> dict[str, Any]:
    grants: dict[str, Any] = {}
    for word in words:
        key, sign, value = word.partition("=")
        if key not in (*WORDS, MAINTAINER) or bool(sign) is (key == MAINTAINER):
            raise ValueError(
                f"behind the SHA-256 may stand {MAINTAINER} or {'=, '.join(WORDS)}=, nothing else"
            )
        if key in grants:
            raise ValueError(f"has {key} twice")
        grants[key] = True if key == MAINTAINER else _granted(key, value)
    if MAINTAINER in grants and not grants.keys() <= {MAINTAINER, "rate"}:
        raise ValueError(f"{MAINTAINER} goes with no other word but rate")
    return grants


def _granted(key: str, value: str) -> str | int | tuple[str, ...]:
    most = WHOLES.get(key)
    if most is not None:
        whole = int(value) if re.fullmatch("[0-9]{1,9}", value) else 0
        if not 1 <= whole <= most:
            raise ValueError(f"{key} must be a whole number from 1 to {most}")
        return whole
    names = tuple(value.split(",")) if key == "rulesets" else (value,)
    if not all(map(NAME.fullmatch, names)):
        raise ValueError(f"{key} must be lower-case letters, digits or -, beginning with a letter")
    if len(set(names)) < len(names):
        raise ValueError(f"{key} names one twice")
    return names if key == "rulesets" else value


def make_token(name: str, words: Iterable[str] = ()) -> tuple[str, str]:
    """Make a token; give it, and its line for the file of tokens, with words of what it may."""
    if not NAME.fullmatch(name):
        raise UserError(
            f"{name!r} cannot name a token: use 1 to 60 lower-case letters, digits or -, "
            "beginning with a letter"
        )
    token = secrets.token_urlsafe(RANDOM_BYTES)
    digest = hashlib.sha256(token.encode("ascii")).hexdigest()
    line = " ".join((name, digest, *words))
    try:
        _read_line(line, 0)
    except ValueError as error:
        raise UserError(f"no such token can be made: {error}") from error
    return token, line


def print_token(name: str, words: Iterable[str] = ()) -> None:
    """Show a new token on standard error, once; write its line to standard output."""
    token, line = make_token(name, words)
    print(f"The token of {name}. It is shown only now:\n  {token}", file=sys.stderr)
    print("Add this line to the file that DRAWMARK_TOKENS_FILE names:", file=sys.stderr, flush=True)
    print(line)
