"""Single checks are answered beside heavy requests and slow callers."""

from collections import Counter
from contextlib import nullcontext
from types import SimpleNamespace

import pytest

from benchmarks import fairness
from servers import needs_proc


@pytest.mark.soak
@needs_proc
def test_single_checks_are_answered_beside_heavy_requests(capsys):
    wrong = fairness.measure(["kit/labels"], seconds=2.0)
    # Two seconds are too few for times; these are measured for a minute.
    assert [each for each in wrong if not each.startswith("above ")] == []
    alone, slow, heavy, *_ = capsys.readouterr().out.splitlines()
    assert alone.startswith("| nothing | 80 | ")
    assert slow.startswith("| slow callers | 80 | ")
    assert "cut off: " in slow
    assert heavy.startswith("| kit/labels | 40 | ")
    assert "200: " in heavy or "503: " in heavy


def test_a_row_tells_times_and_what_the_others_got():
    alone = fairness.Felt([0.001] * 100)
    felt = fairness.Felt([0.002] * 50 + [0.004] * 50)
    assert felt.row("order", alone, Counter({"503": 2, "200": 1})) == (
        "| order | 100 | 3.0 ms | 4.0 ms | 4.0 ms | 4.0 | 200: 1, 503: 2 |"
    )


@pytest.mark.parametrize(
    ("slow", "beside", "fault", "told"),
    [
        pytest.param(0.2, [0.005], [], [], id="five times"),
        pytest.param(0.2, [0.006, 0.006], [], ["above 5 times beside order"], id="six times"),
        pytest.param(0.2, [0.006, 0.005], [], [], id="six times once"),
        pytest.param(2.1, [0.001], [], ["longer than 2 s beside slow callers"], id="a long wait"),
        pytest.param(0.2, [0.001], ["503"], ["no answer beside order: 503"], id="a refusal"),
    ],
)
def test_what_others_must_not_feel(monkeypatch, slow, beside, fault, told):
    felt = iter([0.001, 0.001, slow, *beside])
    faults = iter([[], [], [], fault, []])
    monkeypatch.setattr(
        fairness, "feel", lambda port, seconds: fairness.Felt([next(felt)] * 9, next(faults))
    )
    monkeypatch.setattr(fairness, "serving", lambda: nullcontext(SimpleNamespace(port=0)))
    monkeypatch.setattr(fairness, "status_of", lambda *_: "200")
    monkeypatch.setattr(fairness, "stop_halfway", lambda *_: "cut off")
    monkeypatch.setattr(fairness.time, "sleep", lambda _: None)
    assert fairness.measure(["order"], seconds=0) == told
