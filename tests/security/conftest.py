from __future__ import annotations

from dataclasses import dataclass

import pytest

import servers
from drawmark.tokens import make_token


@dataclass
class Guarded:
    """A service that asks for tokens and logs addresses, behind one proxy, and a token of it."""

    process: servers.Process
    token: str

    @property
    def port(self):
        return self.process.port


@pytest.fixture(scope="session")
def guarded(tmp_path_factory):
    folder = tmp_path_factory.mktemp("guarded")
    token, line = make_token("club-app")
    (folder / "tokens").write_text(f"{line}\n")
    settings = {
        "WEB_CONCURRENCY": "1",
        "DRAWMARK_TOKENS_FILE": str(folder / "tokens"),
        "DRAWMARK_LOG_ADDRESSES": "1",
        "DRAWMARK_TRUSTED_PROXIES": "1",
    }
    with servers.running(servers.service(folder, **settings)) as process:
        yield Guarded(process, token)
