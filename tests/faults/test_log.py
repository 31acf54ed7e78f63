"""A log that cannot be written, its disk being full, costs its lines and no answer."""

import signal
import socket
from pathlib import Path

import pytest

from servers import ask, install, needs_proc, wait_for

FULL = Path("/dev/full")
BROKEN = """
import warnings
from drawmark import rules

def check(case):
    warnings.warn("a warning that is logged")
    raise ValueError("a fault that is logged")

@rules.hookimpl
def drawmark_rules():
    return [rules.Rule(id="broken", title="Always fails.", check=check)]
"""
CLUB = """
[rulesets.evening]
title = "An evening"
plugins = ["broken"]
"""


@needs_proc
@pytest.mark.skipif(not FULL.exists(), reason="no device that is always full")
def test_requests_are_answered_while_the_disk_of_the_log_is_full(serve, tmp_path):
    config = tmp_path / "club.toml"
    config.write_text(CLUB)
    environment = install(tmp_path, "broken", BROKEN) | {"DRAWMARK_CONFIG": str(config)}
    service = serve(FULL, **environment)
    for _ in range(10):
        # A line for the request, and the rule's own traceback.
        status, text = ask(service.port)
        assert (status, b"broken" in text) == (200, True)
        assert ask(service.port, "/v1/units", None)[0] == 200
        assert ask(service.port, body=b"{")[0] == 400
    # Lines of the server itself: a request that it refuses, files that it reads again.
    with socket.create_connection(("127.0.0.1", service.port), 20) as caller:
        caller.sendall(b"GET / OUR/1\r\n\r\n")
        assert caller.recv(100).startswith(b"HTTP/1.1 400 ")
    before = service.children
    config.write_text("default = [")
    service.send(signal.SIGHUP)
    wait_for(lambda: len(service.children) == 2 and not service.children & before)
    status, text = ask(service.port, "/readyz", None)
    assert (status, b'"configuration":"stale"' in text) == (200, True)
    assert ask(service.port)[0] == 200
