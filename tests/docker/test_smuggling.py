"""Through nginx as many requests reach the service as nginx counts, and none at a closed path."""

import json
from pathlib import Path
from typing import Any

from security.messages import AMBIGUOUS, CLEAR, numbered, statuses_of, talk
from servers import Process, wait_for


def lines_of(log: Path, start: int) -> list[dict[str, Any]]:
    """Lines of requests, from a place on."""
    text = log.read_text(encoding="utf-8")[start:]
    lines = [json.loads(line) for line in text.splitlines() if line.startswith("{")]
    return [line for line in lines if line["message"] == "answered"]


def test_nginx_and_service_agree_where_each_request_ends(service: Process, front: Any) -> None:
    nginx = front(service.port)
    disagreed = []
    for name, message in {
        **AMBIGUOUS,
        **{name: clear for name, (clear, _) in CLEAR.items()},
    }.items():
        starts = [len(log.read_text(encoding="utf-8")) for log in (service.log, nginx.log)]
        _, message = numbered(message)
        answers = statuses_of(talk(nginx.port, message))

        def counts(starts: list[int] = starts) -> tuple[list[int], list[int], list[int]]:
            asked = lines_of(nginx.log, starts[1])
            passed_on = [line["status"] for line in asked if line["upstream"]]
            reached = [line["status"] for line in lines_of(service.log, starts[0])]
            return [line["status"] for line in asked], passed_on, reached

        # nginx writes its line after the answer.
        wait_for(lambda: len(counts()[0]) >= len(answers))  # noqa: B023
        asked, passed_on, reached = counts()
        if not (asked == answers and passed_on == reached):
            disagreed.append((name, answers, asked, passed_on, reached))
        if name in CLEAR:
            assert answers == CLEAR[name][1], name
    assert disagreed == []


def test_a_request_that_is_refused_here_takes_its_rest_with_it(
    service: Process, front: Any
) -> None:
    """Only where the end of a message is clear to both is anything behind it a request."""
    nginx = front(service.port)
    for framing in ("two lengths", "length and chunks", "chunks and length", "chunked twice"):
        number, message = numbered(AMBIGUOUS[framing])
        assert statuses_of(talk(nginx.port, message)) in ([400], [501])
        assert f"hidden-{number}" not in service.written()


METRICS = [
    *(b"/metrics", b"/metrics/", b"/metrics?x", b"/metrics#x", b"/%6detrics", b"/metrics%2f"),
    *(b"//metrics", b"/./metrics", b"/v1/../metrics", b"/v1/%2e%2e/metrics", b"/v1/..%2fmetrics"),
    *(
        b"http://other/metrics",
        b"http://other//metrics",
        b"/metrics;x",
        b"/metrics%00",
        b"/METRICS",
    ),
    *(b"/metrics%20", b"/metrics%3fx", b"/metrics\\", b"/%256detrics", b"/metrics/%2e", b"metrics"),
]


def test_no_spelling_of_a_closed_path_gets_through(service: Process, front: Any) -> None:
    nginx = front(service.port)
    for path in METRICS:
        message = b"GET " + path + b" HTTP/1.1\r\nHost: c\r\nConnection: close\r\n\r\n"
        received = talk(nginx.port, message)
        assert statuses_of(received)[0] in (400, 403, 404), path
        assert b"drawmark_" not in received, path


def test_a_page_that_points_its_own_name_here_gets_nothing_through_nginx(
    service: Process, front: Any
) -> None:
    nginx = front(service.port)
    for host, status in ((b"rebound.example", 421), (b"localhost:8080", 200)):
        message = b"GET /v1/rulesets HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n" % host
        assert statuses_of(talk(nginx.port, message)) == [status]
