"""The real service with settings of a test's own, stopped by its own process id."""

from __future__ import annotations

import json
import signal
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import requests

from drawmark.web.document.examples import EXAMPLES
from servers import Process, running, service, wait_for

WORKERS = 2


@contextmanager
def serving(folder: Path, **environment: str) -> Iterator[Process]:
    with running(service(folder, **{"WEB_CONCURRENCY": str(WORKERS), **environment})) as served:
        wait_for(lambda: requests.get(served.url + "/healthz", timeout=10).ok)
        yield served


def ready(served: Process) -> dict:
    response = requests.get(served.url + "/readyz", timeout=10)
    assert response.status_code == 200
    return response.json()


def hang_up(served: Process) -> None:
    """Have the files read again, and wait until only new workers are left."""
    # The first worker answers a moment before the other one is started.
    wait_for(lambda: len(served.children) == WORKERS)
    before = served.children
    served.send(signal.SIGHUP)
    wait_for(lambda: len(served.children) == WORKERS and not served.children & before)


class HeldRequest:
    """A request of which only half was sent yet."""

    def __init__(self, url, operation="fit-check"):
        at = urlsplit(url)
        body = json.dumps(EXAMPLES[operation]).encode()
        self.rest = body[20:]
        self.connection = socket.create_connection((at.hostname, at.port), timeout=30)
        self.connection.sendall(
            b"POST /v1/%s HTTP/1.1\r\nHost: x\r\nConnection: close\r\n"
            b"Content-Type: application/json\r\nContent-Length: %d\r\n\r\n%s"
            % (operation.encode(), len(body), body[:20])
        )

    def finish(self):
        self.connection.sendall(self.rest)
        received = b""
        while block := self.connection.recv(65536):
            received += block
        self.connection.close()
        return received
