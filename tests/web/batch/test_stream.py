"""A stream of items is answered line for line, and its last line tells that it is whole."""

from __future__ import annotations

import io
import json
import random

import pytest

from drawmark.deadline import DeadlinePassed, deadline
from drawmark.web import create_app
from drawmark.web.batch import spool, stream
from drawmark.web.batch.definition import LONGEST_LINE, MOST_WORDED, NDJSON
from drawmark.web.batch.stream import lines_of
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules

FIT = EXAMPLES["fit-check"]
LINE = json.dumps(FIT).encode()
TOO_LONG = b'{"id":"' + b"x" * LONGEST_LINE + b'"}'


def post(client, body, **more):
    return client.post("/v1/fit-check/batch", data=body, content_type=NDJSON, **more)


def beside(client):
    """What a batch says once for all items."""
    answer = client.post("/v1/fit-check/batch", json={"items": [{}]}).get_json()
    del answer["items"]
    assert answer.keys() == {"not_told", "cautions", "engine"}
    return answer


def answered(client, body):
    """The lines of an answer, and its last line apart."""
    response = post(client, body)
    assert response.status_code == 200
    assert response.mimetype == NDJSON
    assert response.data.endswith(b"\n")
    *items, last = map(json.loads, response.data.splitlines())
    assert [item["index"] for item in items] == list(range(len(items)))
    problems = sum("problem" in item for item in items)
    assert last == {"items": len(items), "problems": problems, **beside(client)}
    return items


def test_lines_are_answered_as_the_items_of_a_batch(client):
    bodies = [FIT, {**FIT, "id": "x"}, {}, {**FIT, "detail": "full"}] * 5
    batch = client.post("/v1/fit-check/batch", json={"items": bodies}).get_json()["items"]
    assert answered(client, "\n".join(map(json.dumps, bodies))) == batch


@pytest.mark.parametrize(
    ("body", "statuses"),
    [
        pytest.param(b"", [], id="nothing"),
        pytest.param(b"\n \r\n\n", [], id="blank lines"),
        pytest.param(LINE, [200], id="no end of the last line"),
        pytest.param(LINE + b"\r\n\r\n" + LINE + b"\r\n", [200, 200], id="other ends of lines"),
        pytest.param(LINE + b"\n{\n" + LINE + b"\n", [200, 400, 200], id="no JSON"),
        pytest.param(LINE + b"\n" + LINE + LINE + b"\n", [200, 400], id="two in a line"),
        pytest.param(
            LINE + LINE + b"\n" + LINE[:20] + b"\n" + LINE[20:] + b"\n" + LINE,
            [400, 400, 400, 200],
            id="two in a line and one in two",
        ),
        pytest.param(b"[1]\nnull\n" + LINE, [422, 422, 200], id="no object"),
        pytest.param(b"\xff\n" + LINE, [400, 200], id="no UTF-8"),
        pytest.param(b"[" * 5000 + b"\n" + LINE, [400, 200], id="too deep"),
        pytest.param(LINE + b"\n" + TOO_LONG + b"\n" + LINE, [200, 413, 200], id="too long"),
        pytest.param(TOO_LONG, [413], id="too long and without an end"),
        pytest.param(TOO_LONG * 9 + b"\n" + LINE, [413, 200], id="many blocks long"),
    ],
)
def test_one_bad_line_spoils_nothing(client, body, statuses):
    assert [item["status"] for item in answered(client, body)] == statuses


@pytest.mark.parametrize("read_at_once", [1, 7, 100, 10**6])
def test_lines_do_not_hang_on_where_blocks_end(monkeypatch, read_at_once):
    class ShortReads(io.BytesIO):
        def read(self, size):
            return super().read(min(size, read_at_once))

    monkeypatch.setattr(stream, "LONGEST_LINE", 9)
    rng = random.Random(read_at_once)
    for _ in range(100):
        text = b"".join(rng.choices([b"abc", b"\n", b" ", b"0123456789", b"\r\n"], k=30))
        wanted = [line for line in text.split(b"\n") if line.strip()]
        # One that is blank so far may turn out to be too long.
        wanted = [None if len(line) > 9 else line for line in wanted]
        if b" " * 10 not in text:
            assert list(lines_of(ShortReads(text))) == wanted


def test_blocks_are_one_stream(client):
    # 4000 lines are a block: the last 20 refusals stand in the next one.
    items = answered(client, b"\n".join([*[b"{}"] * 90, *[LINE] * 3910, *[b"{}"] * 20]))
    worded = ["errors" in item["problem"] for item in items if "problem" in item]
    assert worded == [True] * MOST_WORDED + [False] * 10


def test_more_than_a_batch_holds(client):
    assert len(answered(client, b"\n".join([LINE] * 10_500))) == 10_500


def test_lines_of_blanks_end_at_the_deadline_too():
    lines = lines_of(io.BytesIO(b"\n" * 1_000_000))
    deadline.begin(0.0)
    try:
        with pytest.raises(DeadlinePassed):
            next(lines)
    finally:
        deadline.end()


def test_long_streams_go_to_a_file(client, monkeypatch):
    monkeypatch.setattr(spool, "IN_MEMORY", 1000)
    assert len(answered(client, b"\n".join([LINE] * 20))) == 20


@pytest.mark.parametrize(("size", "status"), [(1024, 200), (1025, 413)])
def test_stream_has_a_limit(size, status):
    client = create_app(Settings(stream_limit=1024), core_rules()).test_client()
    assert post(client, b" " * size).status_code == status


@pytest.mark.parametrize("full_at", ["write", "seek"])
def test_no_space_is_a_problem(client, monkeypatch, full_at):
    def refuse(*_):
        raise OSError(28, "No space left on device")

    class Full(io.BytesIO):
        """What is written last leaves memory only when it is read back, or at the end."""

        def __init__(self, size):
            super().__init__()
            self.refuses = True

        def close(self):
            if self.refuses:
                self.refuses = False
                refuse()
            super().close()

    setattr(Full, full_at, refuse)
    monkeypatch.setattr(spool.tempfile, "SpooledTemporaryFile", Full)
    response = post(client, LINE)
    assert response.status_code == 503
    assert "There is no room" in response.get_json()["detail"]


def test_content_coding_is_refused(client):
    response = post(client, LINE, headers={"Content-Encoding": "gzip"})
    assert response.status_code == 415
    assert response.headers["Accept-Encoding"] == "identity"


def test_other_types_are_named(client):
    response = client.post("/v1/fit-check/batch", data=LINE, content_type="text/plain")
    assert response.status_code == 415
    assert NDJSON in response.get_json()["detail"]
