"""Bearer tokens: who may ask, and the file that names them.

Each line of the file is a name and the SHA-256 of a token in hex. Empty lines and lines that begin
with # are skipped. The file holds no token, so reading it lets nobody in.
"""

from __future__ import annotations

import hashlib
import hmac
import os
import re
import secrets
import stat
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from drawmark.errors import UserError

MOST_TOKENS: Final = 100
RANDOM_BYTES: Final = 32
_NAME: Final = re.compile(r"[a-z][a-z0-9-]{0,59}")
_LINE: Final = re.compile(rf"({_NAME.pattern})[ \t]+([0-9a-f]{{64}})")
_CREDENTIALS: Final = re.compile(r"bearer +([A-Za-z0-9._~+/=-]{1,200})", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Tokens:
    """Names, and the SHA-256 of their tokens."""

    digests: Mapping[str, bytes]

    def name_of(self, authorization: str) -> str | None:
        """Give the name of the token in an Authorization header; None if it is unknown."""
        credentials = _CREDENTIALS.fullmatch(authorization.strip(" "))
        if credentials is None:
            return None
        digest = hashlib.sha256(credentials[1].encode("ascii")).digest()
        found = None
        # All are compared, each in constant time, so that the time taken gives nothing away.
        for name, known in self.digests.items():
            if hmac.compare_digest(digest, known):
                found = name
        return found


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
    digests: dict[str, bytes] = {}
    for number, line in enumerate(map(str.strip, lines), start=1):
        if not line or line.startswith("#"):
            continue
        entry = _LINE.fullmatch(line)
        if entry is None:
            raise UserError(f"{where}, line {number}: must be a name and a SHA-256 in hex")
        digest = bytes.fromhex(entry[2])
        if entry[1] in digests or digest in digests.values():
            raise UserError(f"{where}, line {number}: repeats a name or token")
        if len(digests) == MOST_TOKENS:
            raise UserError(f"{where}, line {number}: more than {MOST_TOKENS} tokens")
        digests[entry[1]] = digest
    if not digests:
        raise UserError(
            f"{where} holds no token, so nobody could ask: make one with `drawmark token new NAME`"
        )
    return Tokens(digests)


def make_token(name: str) -> tuple[str, str]:
    """Make a token; give it, and its line for the file of tokens."""
    if not _NAME.fullmatch(name):
        raise UserError(
            f"{name!r} cannot name a token: use 1 to 60 lower-case letters, digits or -, "
            "beginning with a letter"
        )
    token = secrets.token_urlsafe(RANDOM_BYTES)
    return token, f"{name} {hashlib.sha256(token.encode('ascii')).hexdigest()}"


def print_token(name: str) -> None:
    """Show a new token on standard error, once; write its line to standard output."""
    token, line = make_token(name)
    print(f"The token of {name}. It is shown only now:\n  {token}", file=sys.stderr)
    print("Add this line to the file that DRAWMARK_TOKENS_FILE names:", file=sys.stderr, flush=True)
    print(line)
