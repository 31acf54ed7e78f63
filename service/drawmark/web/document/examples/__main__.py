"""Answer the examples again: python -m drawmark.web.document.examples."""

from __future__ import annotations

from drawmark.web import create_app
from drawmark.web.document.examples.answers import keep_answers
from drawmark.web.wire.installed_rules import core_rules

if __name__ == "__main__":
    keep_answers(create_app(rules=core_rules()).test_client())
