"""Single checks are answered beside heavy requests."""

import pytest

from benchmarks.fairness import measure
from servers import needs_proc


@pytest.mark.soak
@needs_proc
def test_single_checks_are_answered_beside_heavy_requests(capsys):
    assert measure(["kit/labels"], seconds=2.0) == []
    alone, silent, beside = capsys.readouterr().out.splitlines()
    assert alone.startswith("alone ")
    assert silent.startswith("half-sent requests ")
    assert " times; 503: " in beside or " times; 200: " in beside
