"""A worker that is killed while it is at a batch takes nobody else with it."""

import json
import os
import signal
import threading
from http.client import HTTPConnection, HTTPException

import pytest

from faults.slow import BATCH, BLOCK, LINES, PATH, SlowRule
from servers import ask, needs_proc, wait_for

UNITS = "/v1/units"


@needs_proc
def test_only_the_caller_of_a_killed_worker_notices(serve, tmp_path):
    slow = SlowRule(tmp_path)
    service = serve(WEB_CONCURRENCY="2", **slow.environment)
    wait_for(lambda: len(service.children) == 2)
    before = service.children
    outcomes = []

    def send_batch():
        try:
            outcomes.append(ask(service.port, PATH, BATCH))
        except (OSError, HTTPException) as fault:
            outcomes.append(fault)

    caller = threading.Thread(target=send_batch)
    caller.start()
    wait_for(lambda: slow.worker or outcomes)
    assert outcomes == [], "answered before the worker was found"
    killed = slow.worker
    assert killed in before
    assert [ask(service.port, UNITS, None)[0] for _ in range(20)] == [200] * 20
    assert outcomes == [], "the batch was done too soon"
    os.kill(killed, signal.SIGKILL)
    assert [ask(service.port, UNITS, None)[0] for _ in range(50)] == [200] * 50
    caller.join(20)
    # A cut connection, never half a batch that could be taken for a whole one.
    (outcome,) = outcomes
    assert isinstance(outcome, (OSError, HTTPException))
    # The first process puts another in its place, which answers like the rest.
    wait_for(lambda: len(service.children) == 2 and killed not in service.children)
    assert service.children - before != set()
    assert ask(service.port, PATH, BATCH)[0] == 200


@pytest.mark.long
@needs_proc
def test_a_stream_that_is_cut_off_lacks_the_line_that_counts(serve, tmp_path):
    slow = SlowRule(tmp_path)
    service = serve(**slow.environment)
    caller = HTTPConnection("127.0.0.1", service.port, timeout=20)
    caller.request("POST", PATH, LINES, {"Content-Type": "application/x-ndjson"})
    answer = caller.getresponse()
    assert answer.status == 200
    lines = [answer.readline() for _ in range(BLOCK)]
    wait_for(lambda: slow.worker)
    os.kill(slow.worker, signal.SIGKILL)
    with pytest.raises((OSError, HTTPException)):
        lines.append(answer.read())
    caller.close()
    assert [json.loads(line)["index"] for line in lines] == list(range(BLOCK))
