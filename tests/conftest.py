"""The real service, started once for all tests that talk to it."""

from __future__ import annotations

import pytest

import servers


@pytest.fixture(scope="session")
def service(tmp_path_factory):
    """The real service on a free loopback port, stopped by its own process id."""
    folder = tmp_path_factory.mktemp("service")
    with servers.running(servers.service(folder, WEB_CONCURRENCY="2")) as running:
        yield running


@pytest.fixture(scope="session")
def live(service):
    return service.url
