from __future__ import annotations

import pytest

from drawmark.web import create_app
from drawmark.web.wire.installed_rules import core_rules


@pytest.fixture(scope="session")
def ask():
    """Ask an operation with the core's rules: status and answer."""
    client = create_app(rules=core_rules()).test_client()

    def answered(path, body):
        response = client.post(f"/v1/{path}", json=body)
        return response.status_code, response.get_json()

    return answered
