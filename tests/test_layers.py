"""Data flows one way."""

from __future__ import annotations

import subprocess
import sys

import pytest


@pytest.mark.parametrize(
    "module", ["drawmark.fitting.facts", "drawmark.rules", "drawmark.answers.fit_check"]
)
def test_lower_layers_load_no_web_framework(module):
    code = f"import sys, {module}; print({{'flask', 'marshmallow', 'apispec'}} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"
