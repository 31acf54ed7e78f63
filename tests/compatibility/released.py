"""The last release: which it is, and what was kept of it."""

from __future__ import annotations

import json
import lzma
import tomllib
from functools import cache
from pathlib import Path
from typing import Any, Final

HERE: Final = Path(__file__).parent
STATED: Final = HERE / "released.toml"
FOLDER: Final = HERE / "released"
DIFFERENCES: Final = HERE / "differences.toml"


def version() -> str:
    """Give its version."""
    return str(tomllib.loads(STATED.read_text())["version"])


@cache
def kept(name: str) -> Any:
    """Give its document, or its answers."""
    return json.loads(lzma.decompress((FOLDER / f"{name}.json.xz").read_bytes()))


@cache
def differences(kind: str) -> dict[tuple[str, ...], str]:
    """Give what changed on purpose, each with its reason, of the document or of its answers."""
    rows = tomllib.loads(DIFFERENCES.read_text()).get(kind, [])
    return {(row["path"], row["place"], row["change"]): row["reason"] for row in rows}
