from __future__ import annotations

import pytest

from drawmark.web import create_app
from drawmark.web.wire.installed_rules import core_rules


@pytest.fixture(scope="session")
def app():
    return create_app(rules=core_rules())


@pytest.fixture
def client(app):
    return app.test_client()
