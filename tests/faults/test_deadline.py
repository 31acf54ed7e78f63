"""Work that takes too long ends, and so does work of which nobody awaits the answer."""

import json
import signal
import threading
import time
from http.client import HTTPConnection, HTTPException

import pytest

from drawmark.web.document.examples import EXAMPLES
from faults.slow import BATCH, ITEMS, LINES, PATH, SLOW, SlowRule
from servers import ask, needs_proc, wait_for

JSON = {"Content-Type": "application/json"}
LONG = json.dumps({"items": [SLOW] * (10 * ITEMS)}).encode()
"""Twenty seconds of them."""


@needs_proc
def test_a_request_ends_at_its_deadline_and_says_when_to_ask_again(serve, tmp_path):
    service = serve(DRAWMARK_DEADLINE="1", **SlowRule(tmp_path).environment)
    caller = HTTPConnection("127.0.0.1", service.port, timeout=20)
    caller.request("POST", PATH, BATCH, JSON)
    answer = caller.getresponse()
    problem = json.loads(answer.read())
    assert (answer.status, answer.headers["Retry-After"], problem["status"]) == (503, "1", 503)
    assert "longer than 1 s" in problem["detail"]
    # The connection and the service go on.
    caller.request("GET", "/healthz")
    assert caller.getresponse().status == 200
    caller.close()


@pytest.mark.long
@needs_proc
def test_a_stream_ends_at_its_deadline_without_the_line_that_counts(serve, tmp_path):
    service = serve(DRAWMARK_DEADLINE="1", **SlowRule(tmp_path).environment)
    caller = HTTPConnection("127.0.0.1", service.port, timeout=20)
    caller.request("POST", PATH, LINES, {"Content-Type": "application/x-ndjson"})
    answer = caller.getresponse()
    lines = [answer.readline()]
    with pytest.raises((OSError, HTTPException)):
        lines += answer.read().splitlines()
    assert answer.status == 200
    assert all("index" in json.loads(line) for line in lines)
    wait_for(lambda: '"torn":true' in service.written())
    assert "Traceback" not in service.written()
    caller.close()


@pytest.mark.long
@needs_proc
def test_the_work_of_a_caller_that_has_gone_ends(serve, tmp_path):
    slow = SlowRule(tmp_path)
    service = serve(WEB_CONCURRENCY="1", DRAWMARK_THREADS="2", **slow.environment)
    caller = HTTPConnection("127.0.0.1", service.port, timeout=20)
    caller.request("POST", PATH, LONG, JSON)
    wait_for(lambda: slow.worker)
    assert ask(service.port, PATH, BATCH)[0] == 503
    caller.close()
    # Its place is free again long before its work would have ended.
    wait_for(lambda: ask(service.port, PATH, b'{"items":[{}]}')[0] == 200, seconds=3)
    assert ask(service.port)[0] == 200


@pytest.mark.long
@needs_proc
def test_what_runs_at_the_end_of_the_service_is_answered(serve, tmp_path):
    slow = SlowRule(tmp_path)
    limits = {"WEB_CONCURRENCY": "1", "DRAWMARK_THREADS": "16", "DRAWMARK_DEADLINE": "3"}
    service = serve(**limits, **slow.environment)
    outcomes = []
    callers = [
        threading.Thread(target=lambda body=body: outcomes.append(ask(service.port, PATH, body)[0]))
        for body in (BATCH, LONG)
    ]
    for caller in callers:
        caller.start()
    wait_for(lambda: slow.worker)
    time.sleep(0.5)  # both are accepted now
    service.send(signal.SIGTERM)
    for caller in callers:
        caller.join(20)
    # The first is done in time; the other is told that it took too long.
    assert sorted(outcomes) == [200, 503]
    assert service.stop() == 0


@needs_proc
def test_time_that_a_caller_takes_to_send_is_no_work(serve):
    service = serve(DRAWMARK_SINGLE_DEADLINE="1")
    body = json.dumps(EXAMPLES["fit-check"]).encode()
    halves = (body[:20], body[20:])
    chunks = (*(b"%x\r\n%b\r\n" % (len(part), part) for part in halves), b"0\r\n\r\n")
    callers = {}
    for name, value, parts in (
        ("Content-Length", str(len(body)), halves),
        ("Transfer-Encoding", "chunked", chunks),
    ):
        caller = callers[name] = HTTPConnection("127.0.0.1", service.port, timeout=20)
        caller.putrequest("POST", "/v1/fit-check")
        caller.putheader("Content-Type", "application/json")
        caller.putheader(name, value)
        caller.endheaders(parts[0])
    time.sleep(1.5)
    callers["Content-Length"].send(halves[1])
    callers["Transfer-Encoding"].send(b"".join(chunks[1:]))
    for caller in callers.values():
        assert caller.getresponse().status == 200
        caller.close()
