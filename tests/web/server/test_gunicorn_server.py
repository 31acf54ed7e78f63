"""How the server is started."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest

from drawmark.web import create_app
from drawmark.web.metrics import Metrics
from drawmark.web.server import gunicorn_server
from drawmark.web.settings import Settings
from servers import Process, free_port, needs_proc, running
from web.serving import serving


@pytest.fixture
def started(monkeypatch):
    """Start with a server that ends at once: nothing is listened on."""
    ran = []

    class Ended(gunicorn_server.GunicornServer):
        def run(self):
            ran.append(self.cfg)

    monkeypatch.setattr(gunicorn_server, "GunicornServer", Ended)
    monkeypatch.setattr(gunicorn_server, "check_address", lambda *_: None)
    monkeypatch.setattr(gunicorn_server, "configure_logging", lambda _: None)
    monkeypatch.setattr(gunicorn_server, "use_atomic_responses", lambda: None)
    monkeypatch.setattr(gunicorn_server, "use_memory_heartbeats", lambda: None)
    monkeypatch.setattr(Metrics, "share", lambda *_: None)

    def start(host, **settings):
        gunicorn_server.serve(host, 8080, Settings(**settings), create_app)
        return ran[-1]

    return start


@pytest.mark.parametrize(
    ("host", "settings", "says"),
    [
        ("127.0.0.1", {}, False),
        ("0.0.0.0", {"allow_open": True}, True),
        ("0.0.0.0", {"tokens_file": "tokens"}, False),
        ("0.0.0.0", {"tokens_file": "tokens", "allow_open": True}, False),
    ],
)
def test_a_service_open_to_all_says_so(started, caplog, host, settings, says):
    started(host, **settings)
    messages = [record.getMessage() for record in caplog.records]
    assert messages == (
        [f"anyone who reaches {host} may ask: no tokens are needed"] if says else []
    )


def test_settings_of_the_server(started):
    found = started("127.0.0.1", workers=3, threads=5, timeout=60)
    assert (found.workers, found.threads, found.timeout) == (3, 5, 60)
    assert found.worker_class_str == "gthread"
    assert found.preload_app
    assert found.graceful_timeout == 20
    assert found.accesslog is None


SLOW_TO_START = """
import os, sys, time
from drawmark.web import create_app
from drawmark.web.server import gunicorn_server
from drawmark.web.settings import Settings
os.register_at_fork(after_in_child=lambda: time.sleep(0.5))
gunicorn_server.serve("127.0.0.1", int(sys.argv[1]), Settings(workers=1), create_app)
"""


@needs_proc
def test_a_worker_that_is_told_to_end_before_it_works_ends_at_once(tmp_path):
    port = free_port()
    command = [sys.executable, "-c", SLOW_TO_START, str(port)]
    with running(Process(command, port, tmp_path / "log", workers=1)) as served:
        begun = time.monotonic()
        assert served.stop() == 0
    assert time.monotonic() - begun < 10


@needs_proc
def test_workers_share_the_solver_of_assignments(tmp_path):
    with serving(tmp_path) as served:
        for process in (served.first, *served.children):
            assert "scipy/optimize" in Path(f"/proc/{process}/maps").read_text()
