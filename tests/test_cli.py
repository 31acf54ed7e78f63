"""What the command line settles before anything else is imported."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from drawmark.cli import main

SCRIPT = """
from pathlib import Path
from drawmark.cli import main

main(["token", "new", "app"])
import numpy

assert numpy.eye(500) @ numpy.eye(500) is not None
(line,) = [line for line in Path("/proc/self/status").read_text().splitlines() if "Threads" in line]
print(line)
"""


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (["serve"], ["address to listen on (127.0.0.1)", "port to listen on (8080)"]),
        (["batch"], ["address of the service (http://127.0.0.1:8080)"]),
        (["token", "new"], ["unique in the file"]),
    ],
)
def test_help_tells_defaults_and_what_a_name_is_for(capsys, command, words):
    with pytest.raises(SystemExit) as ended:
        main([*command, "--help"])
    said = " ".join(capsys.readouterr().out.split())
    assert ended.value.code == 0
    assert [one for one in words if one not in said] == []


@pytest.mark.parametrize("command", [["openapi"], ["config", "check", "club.toml"]])
def test_a_reader_that_has_had_enough_ends_it_quietly(tmp_path, command):
    (tmp_path / "club.toml").write_text("[rulesets.a]\n")
    reader, writer = os.pipe()
    os.close(reader)
    with os.fdopen(writer, "wb") as out:
        done = subprocess.run(
            [sys.executable, "-m", "drawmark.cli", *command],
            cwd=tmp_path,
            stdout=out,
            stderr=subprocess.PIPE,
        )
    assert (done.returncode, done.stderr) == (128 + signal.SIGPIPE, b"")


@pytest.mark.long
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="counts threads in /proc")
def test_arithmetic_gets_no_threads_of_its_own():
    others = {name: value for name, value in os.environ.items() if "_NUM_THREADS" not in name}
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT], env=others, capture_output=True, text=True, check=True
    )
    assert done.stdout.split()[-2:] == ["Threads:", "1"]
