"""The Python client: every operation, batches, problems, and asking again."""

from __future__ import annotations

import inspect
import subprocess
import sys

import pytest
import requests

from drawmark.client import Batch, ClientError, Drawmark, ProblemError
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.document.listings import LISTINGS
from servers import free_port
from test_batch_file import reply, saying

FIT = EXAMPLES["fit-check"]


@pytest.fixture(scope="module")
def drawmark(live):
    with Drawmark(live) as asked:
        yield asked


def method_of(path):
    return path.replace("/", "_").replace("-", "_")


@pytest.mark.parametrize("path", sorted(set(EXAMPLES) - {"fit-check/batch"}))
def test_every_operation_is_a_method(drawmark, path):
    answer = getattr(drawmark, method_of(path))(EXAMPLES[path])
    assert answer["engine"]["name"] == "drawmark"


CATALOGUES = [name for name, one in LISTINGS.items() if one.path.startswith("/v1/")]


@pytest.mark.parametrize("name", CATALOGUES)
def test_every_catalogue_is_a_method(drawmark, name):
    assert getattr(drawmark, name)()


def test_every_public_method_is_documented_and_typed():
    methods = [
        one
        for name, one in inspect.getmembers(Drawmark, inspect.isfunction)
        if not name.startswith("_")
    ]
    assert len(methods) == len(EXAMPLES) + len(CATALOGUES) + len(["close", "check_lines"])
    assert [one.__name__ for one in methods if not one.__doc__] == []
    assert all("return" in one.__annotations__ for one in methods)


def test_verdict_is_that_of_the_service(drawmark):
    assert drawmark.fit_check(FIT)["verdict"] == "pass"


def test_batch_goes_in_blocks_and_ends_with_what_holds_for_all(drawmark, monkeypatch):
    monkeypatch.setattr("drawmark.client.batch.BLOCK_ITEMS", 10)
    sent = ({**FIT, "id": f"n{n}"} if n != 13 else {"id": "n13"} for n in range(25))
    batch = drawmark.fit_check_batch(sent)
    assert isinstance(batch, Batch)
    answers = list(batch)
    assert [one["index"] for one in answers] == list(range(25))
    assert {one["result"]["verdict"] for one in answers if one["index"] != 13} == {"pass"}
    assert (answers[13]["status"], answers[13]["problem"]["status"]) == (422, 422)
    assert batch.summary.items() >= {"items": 25, "problems": 1}.items()
    assert batch.summary["not_told"]
    assert batch.summary["cautions"]


def test_an_empty_batch_is_an_error(drawmark):
    with pytest.raises(ClientError, match="no item"):
        list(drawmark.fit_check_batch([]))


def test_problem_says_all_that_the_service_says(drawmark):
    with pytest.raises(ProblemError) as caught:
        drawmark.fit_check({**FIT, "arrow": {}})
    problem = caught.value
    assert (problem.status, problem.title) == (422, "Unprocessable Content")
    assert problem.detail
    assert [one["pointer"] for one in problem.errors] == ["#/arrow/length"]
    assert "#/arrow/length" in str(problem)


@pytest.mark.parametrize("status", ["429 Too Many Requests", "503 Service Unavailable"])
def test_asks_again_as_late_as_it_is_told(monkeypatch, status):
    waits = []
    monkeypatch.setattr("drawmark.client.connection.time.sleep", waits.append)
    full = reply(b"{}", status, "Retry-After: 3\r\n")
    with saying(full, reply(b"{}", status), full, reply(b'{"verdict":"pass"}')) as (url, heard):
        assert Drawmark(url, "abc").fit_check(FIT) == {"verdict": "pass"}
    assert waits == [3.0, 1.0, 3.0]
    assert all(b"Authorization: Bearer abc\r\n" in one for one in heard)


def test_no_connection_stays_open_while_it_waits(monkeypatch):
    answers, open_ones = [], []
    session = requests.Session()
    session.hooks["response"] = lambda answer, **_: answers.append(answer)
    monkeypatch.setattr(
        "drawmark.client.connection.time.sleep",
        lambda seconds: open_ones.extend(one for one in answers if not one.raw.closed),
    )
    full = reply(b"{}", "503 Service Unavailable")
    with saying(full, full, reply(b"{}")) as (url, _):
        Drawmark(url, session=session).fit_check(FIT)
    assert len(answers) == 3
    assert open_ones == []


def test_a_batch_that_is_not_read_to_its_end_keeps_no_connection():
    answers = []
    session = requests.Session()
    session.hooks["response"] = lambda answer, **_: answers.append(answer)
    with saying(reply(b'{"index":0}\n' * 12_000)) as (url, _):
        lines = Drawmark(url, session=session).check_lines([b"{}"])
        next(lines)
        lines.close()
        assert [one.raw.closed for one in answers] == [True]


@pytest.mark.parametrize(
    "status",
    ["301 Moved Permanently", "302 Found", "303 See Other", "307 Temporary", "308 Permanent"],
)
@pytest.mark.parametrize(
    "ask", [lambda one: one.fit_check(FIT), lambda one: list(one.fit_check_batch([FIT]))]
)
def test_neither_token_nor_request_follows_to_another_address(status, ask):
    at = "http://elsewhere.example/v1/rules"
    with (
        saying(reply(b"", status, f"Location: {at}\r\n")) as (url, heard),
        pytest.raises(ClientError, match=f"sends on to {at}"),
    ):
        ask(Drawmark(url, "abc"))
    assert len(heard) == 1


def test_gives_up_after_some_tries(monkeypatch):
    waits = []
    monkeypatch.setattr("drawmark.client.connection.time.sleep", waits.append)
    monkeypatch.setattr("drawmark.client.connection.MOST_TRIES", 3)
    full = reply(b'{"title":"Service Unavailable","detail":"Full."}', "503 Service Unavailable")
    with saying(full, full, full) as (url, heard), pytest.raises(ProblemError, match="Full") as one:
        Drawmark(url).fit_check(FIT)
    assert (one.value.status, len(heard), len(waits)) == (503, 3, 2)


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        pytest.param(reply(b"<html>"), "does not answer in JSON", id="something else"),
        pytest.param(reply(b"{}", length=99), "Connection broken", id="cut off"),
        pytest.param(b"", "does not answer", id="nothing"),
    ],
)
def test_no_answer_is_an_error(answer, words):
    with saying(answer) as (url, _), pytest.raises(ClientError, match=words):
        Drawmark(url).fit_check(FIT)


def test_nobody_listening_is_an_error():
    with pytest.raises(ClientError, match="does not answer"):
        Drawmark(f"http://127.0.0.1:{free_port()}").rules()


def test_client_loads_nothing_that_computes_or_serves():
    heavy = {"flask", "marshmallow", "numpy", "scipy"}
    code = f"import sys, drawmark.client; print({heavy!r} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stdout == "set()\n"


LINK = (
    '</docs#fit-check>; rel="deprecation"; type="text/html"; '
    'title="bow.knot: Deprecated since 2027-03-01. Use bow.loop."'
)


@pytest.mark.parametrize(
    ("headers", "words"),
    [
        (
            {"Deprecation": "@1803859200", "Link": LINK},
            r"/v1/fit-check: bow\.knot: .* bow\.loop\.$",
        ),
        ({"Deprecation": "@1803859200"}, "is on its way out"),
        ({"Link": LINK}, None),
    ],
)
def test_what_is_on_its_way_out_is_warned_of(headers, words):
    more = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
    with saying(reply(b"{}", more=more)) as (url, _), Drawmark(url) as asked:
        if words is None:  # A warning would be an error.
            asked.fit_check(FIT)
            return
        with pytest.warns(DeprecationWarning, match=words) as told:
            asked.fit_check(FIT)
        assert told[0].filename == __file__


def test_a_batch_is_warned_of_where_its_answers_are_read():
    lines = b'{"index":0,"status":200,"result":{}}\n{"items":1,"problems":0}\n'
    more = f"Deprecation: @1803859200\r\nLink: {LINK}\r\n"
    with (
        saying(reply(lines, more=more)) as (url, _),
        Drawmark(url) as asked,
        pytest.warns(DeprecationWarning, match="bow.loop") as told,
    ):
        list(asked.fit_check_batch([FIT]))
    assert told[0].filename == __file__
