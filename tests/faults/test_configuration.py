"""A configuration that cannot be used stops the start, in one line that says where and why."""

import signal
import subprocess

import pytest

from servers import ask, service

FAULTS = {
    "missing": (None, "cannot be read"),
    "empty": (b"", "club.toml: is empty"),
    "emptied but for a remark": (b"# empty", "club.toml: is empty"),
    "malformed": (b"default = [", "is not TOML"),
    "nested too deeply": (b"default = " + b"[\n" * 9000, "nests lists or tables too deeply"),
    "not text": (b"\xff\xfe\x00", "is not TOML"),
    "words that mean nothing": (b"[rulesets.evening]\nbow = 1", "bow"),
    "a default that is not there": (b'default = "evening"', "rulesets: is missing"),
}
OUR_PLUGIN = b"""
[rulesets.evening]
title = "An evening"
plugins = ["our-hall"]
required = ["our-hall"]
"""


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param(*fault, marks=() if name == "malformed" else pytest.mark.long, id=name)
        for name, fault in FAULTS.items()
    ],
)
def test_a_service_does_not_start_with(text, words, tmp_path):
    file = tmp_path / "club.toml"
    if text is not None:
        file.write_bytes(text)
    refused = service(tmp_path)
    done = subprocess.run(
        refused.command,
        env={**refused.environment, "DRAWMARK_CONFIG": str(file)},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 2
    assert words in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_a_required_plugin_that_is_missing_lets_nothing_pass(serve, tmp_path):
    file = tmp_path / "club.toml"
    file.write_bytes(OUR_PLUGIN)
    running = serve(DRAWMARK_CONFIG=str(file))
    status, text = ask(running.port, "/readyz", None)
    assert (status, b"our-hall" in text) == (503, True)
    # What the core alone proves is still said: the arrow is far too short.
    status, text = ask(running.port)
    assert (status, b'"verdict":"stop"' in text) == (200, True)
    assert running.end(signal.SIGTERM) == 0
