"""Fit checks from a file, answered line by line, and what the exit status tells."""

from __future__ import annotations

import io
import json
import os
import re
import signal
import socket
import subprocess
import sys
import termios
import threading
from contextlib import contextmanager

import pytest

from drawmark.batch_file import read_items
from drawmark.client import Drawmark
from drawmark.web.document.examples import EXAMPLES
from servers import free_port

FIT = EXAMPLES["fit-check"]
LINE = json.dumps(FIT)


def run(*arguments, given=b""):
    command = [sys.executable, "-m", "drawmark.cli", "batch", *arguments]
    return subprocess.run(command, input=given, capture_output=True, timeout=120)


def lines_of(done):
    return [json.loads(line) for line in done.stdout.splitlines()]


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(f"{LINE}\n\n{LINE}\n{LINE}", id="lines"),
        pytest.param(json.dumps([FIT] * 3), id="a list"),
        pytest.param(json.dumps([FIT] * 3, indent=2), id="a list over many lines"),
        pytest.param(json.dumps({"items": [FIT] * 3}), id="the body of a batch"),
        pytest.param(json.dumps({"items": [FIT] * 3}, indent=1), id="a body over many lines"),
    ],
)
@pytest.mark.parametrize("piped", [False, True], ids=["file", "standard input"])
def test_items_are_answered_in_order(live, tmp_path, text, piped):
    file = tmp_path / "items"
    file.write_text(text, encoding="utf-8")
    done = run("--url", live, "-" if piped else str(file), given=text.encode() if piped else b"")
    *items, last = lines_of(done)
    assert (done.returncode, done.stderr) == (0, b"")
    assert last.items() >= {"items": 3, "problems": 0}.items()
    assert [item["index"] for item in items] == [0, 1, 2]
    assert {item["result"]["verdict"] for item in items} == {items[0]["result"]["verdict"]}


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(f"{LINE}\n{LINE}\n", id="lines"),
        pytest.param(f"\n{LINE}\n{LINE}\n", id="an empty line first"),
        pytest.param(json.dumps([FIT] * 2), id="a list"),
        pytest.param(json.dumps({"items": [FIT] * 2}), id="the body of a batch"),
    ],
)
def test_a_byte_order_mark_is_no_part_of_the_items(text):
    with_mark, without = (io.BytesIO(text.encode(name)) for name in ("utf-8-sig", "utf-8"))
    items = list(read_items(with_mark))
    assert items == list(read_items(without))
    assert list(map(json.loads, items)) == [FIT] * 2


def test_problems_are_told_by_the_exit_status(live):
    done = run("--url", live, "-", given=f"{LINE}\n{{}}\nno JSON\n".encode())
    *items, last = lines_of(done)
    assert done.returncode == 1
    assert last.items() >= {"items": 3, "problems": 2}.items()
    assert [item["status"] for item in items] == [200, 422, 400]


def test_blocks_are_counted_through(live, monkeypatch):
    monkeypatch.setattr("drawmark.client.batch.BLOCK_ITEMS", 10)
    items = [json.dumps({**FIT, "id": f"n{n}"}).encode() for n in range(35)]
    *answers, last = map(json.loads, Drawmark(live).check_lines(items))
    assert [(one["index"], one["id"]) for one in answers] == [(n, f"n{n}") for n in range(35)]
    assert last.items() >= {"items": 35, "problems": 0}.items()


@pytest.mark.parametrize("given", [b"", b"\n\n", b"\xef\xbb\xbf", b"[]", b'{"items": []}'])
def test_nothing_checked_is_no_success(given):
    done = run("-", given=given)
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr == b"drawmark: there is no item to check\n"


def test_a_reader_that_has_had_enough_ends_it_quietly(live, tmp_path):
    file = tmp_path / "items.ndjson"
    file.write_text(f"{LINE}\n" * 4000, encoding="utf-8")
    command = [sys.executable, "-m", "drawmark.cli", "batch", "--url", live, str(file)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout.readline().startswith(b'{"index":0,')
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(60) == 128 + signal.SIGPIPE


def is_whole(received):
    head, end, body = received.partition(b"\r\n\r\n")
    length = re.search(rb"Content-Length: (\d+)", head)
    return bool(end) and len(body) == int(length[1])


@contextmanager
def saying(*replies):
    """A server that says its replies, one a connection, and keeps what it was asked."""
    heard = []
    with socket.create_server(("127.0.0.1", 0)) as server:

        def serve():
            for reply in replies:
                connection, _ = server.accept()
                with connection:
                    received = b""
                    while not is_whole(received):
                        received += connection.recv(65536)
                    heard.append(received)
                    connection.sendall(reply)

        thread = threading.Thread(target=serve)
        thread.start()
        yield f"http://127.0.0.1:{server.getsockname()[1]}", heard
        thread.join(30)


ENTRY = b'{"index":0,"status":200,"result":{}}\n'
COUNT = b'{"items":1,"problems":0}\n'


def reply(body, status="200 OK", more="", length=None):
    head = f"HTTP/1.1 {status}\r\nContent-Length: {length or len(body)}\r\n{more}"
    return head.encode() + b"Connection: close\r\n\r\n" + body


@pytest.mark.parametrize(
    "answer",
    [
        pytest.param(reply(ENTRY + COUNT, length=999), id="shorter than announced"),
        pytest.param(reply(ENTRY), id="no last line"),
        pytest.param(reply(COUNT), id="an item missing"),
        pytest.param(reply(ENTRY + ENTRY + COUNT), id="one too many"),
        pytest.param(reply(b"<html>"), id="something else"),
        pytest.param(b"", id="nothing"),
    ],
)
def test_cut_stream_is_seen(answer):
    with saying(answer) as (url, _):
        done = run("--url", url, "-", given=LINE.encode())
    assert done.returncode == 2
    assert done.stderr.startswith(b"drawmark: ")
    assert b"Traceback" not in done.stderr
    assert b"problems" not in done.stdout.replace(COUNT, b"")


def test_asks_again_where_there_is_no_room():
    full = reply(b"{}", "503 Service Unavailable", "Retry-After: 0\r\n")
    with saying(full, full, reply(ENTRY + COUNT)) as (url, _):
        assert run("--url", url, "-", given=LINE.encode()).returncode == 0


def test_token_is_sent(tmp_path):
    file = tmp_path / "token"
    file.write_text("abc\n", encoding="utf-8")
    with saying(reply(ENTRY + COUNT)) as (url, heard):
        done = run("--url", url, "--token-file", str(file), "-", given=LINE.encode())
    assert done.returncode == 0
    assert b"Authorization: Bearer abc\r\n" in heard[0]


def refused():
    detail = b'{"detail":"A token is needed."}'
    return reply(detail, "401 Unauthorized")


def test_refusal_is_told():
    with saying(refused()) as (url, _):
        done = run("--url", url, "-", given=LINE.encode())
    assert done.returncode == 2
    assert b"refused with status 401: A token is needed." in done.stderr


@pytest.mark.parametrize(
    ("arguments", "given"),
    [
        pytest.param(["--url", "http://127.0.0.1:{port}", "-"], LINE, id="nobody listens"),
        pytest.param(["--url", "not a url", "-"], LINE, id="no address"),
        pytest.param(["nowhere.json"], "", id="no file"),
        pytest.param(["."], "", id="a folder"),
        pytest.param(["--token-file", "nowhere", "-"], LINE, id="no token"),
        pytest.param(["-"], "[1, 2", id="half a list"),
    ],
)
def test_one_line_tells_what_is_wrong(arguments, given):
    port = free_port()
    done = run(*(one.format(port=port) for one in arguments), given=given.encode())
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert done.stderr.startswith(b"drawmark: ")
    assert b"[Errno" not in done.stderr


@pytest.mark.parametrize("kind", ["lines", "list", "standard input"])
def test_terminal_shows_progress_and_the_answers_stay_clean(live, tmp_path, kind):
    file = tmp_path / "items"
    file.write_text(json.dumps([FIT] * 3) if kind == "list" else f"{LINE}\n" * 3)
    ours, theirs = os.openpty()
    os.set_blocking(ours, False)
    termios.tcsetwinsize(theirs, (24, 80))
    command = [sys.executable, "-m", "drawmark.cli", "batch", "--url", live]
    with file.open("rb") as given:
        done = subprocess.run(
            [*command, "-" if kind == "standard input" else str(file)],
            stdin=given, stdout=subprocess.PIPE, stderr=theirs, timeout=120,
        )  # fmt: skip
    shown = os.read(ours, 65536).decode()
    os.close(theirs)
    os.close(ours)
    assert done.returncode == 0
    assert [json.loads(line)["index"] for line in done.stdout.splitlines()[:-1]] == [0, 1, 2]
    assert "0/4" in shown


def test_nothing_is_loaded_or_shown_elsewhere(live, tmp_path):
    file = tmp_path / "items"
    file.write_text(f"{LINE}\n" * 3)
    code = (
        "import sys; from drawmark.cli import main; main(sys.argv[1:]);"
        "print('tqdm' in sys.modules, file=sys.stderr)"
    )
    command = [sys.executable, "-c", code, "batch", "--url", live, str(file)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.stderr == "False\n"
