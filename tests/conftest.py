"""What all tests share: the real service, started once, and how examples are drawn."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

# Two processes of tests with two threads of arithmetic each get in each other's way; numpy reads
# this when it is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import servers
from drawmark.web import create_app
from drawmark.web.wire.installed_rules import core_rules

# Every run of the tests draws the same examples; `--hypothesis-profile=search` draws others.
settings.register_profile("same", deadline=None, derandomize=True, database=None)
settings.register_profile("search", deadline=None, derandomize=False, print_blob=True)
settings.load_profile("same")


@pytest.fixture(scope="session")
def service(tmp_path_factory):
    """The real service on a free loopback port, stopped by its own process id."""
    folder = tmp_path_factory.mktemp("service")
    with servers.running(servers.service(folder, WEB_CONCURRENCY="2")) as running:
        yield running


@pytest.fixture(scope="session")
def live(service):
    return service.url


@pytest.fixture(scope="session")
def ask():
    """Ask an operation with the core's rules: status and answer."""
    client = create_app(rules=core_rules()).test_client()

    def answered(path, body):
        response = client.post(f"/v1/{path}", json=body)
        return response.status_code, response.get_json()

    return answered


@pytest.fixture(scope="module")
def patience():
    """On a machine with much else to do a rule may stand still for longer than its time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("drawmark.rules.watch.TIME_LIMIT", 20.0)
        yield
