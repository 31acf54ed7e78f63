"""The unit for systemd: it can be loaded, is confined, and gives the service what it needs."""

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import pytest

from drawmark.web import create_app
from drawmark.web.server.gunicorn_server import GunicornServer, check_address
from drawmark.web.settings import read_settings
from servers import Process, ask, free_port, running, wait_for

FOLDER = Path(__file__).parents[2] / "docker" / "systemd"
TEXT = (FOLDER / "drawmark.service").read_text(encoding="utf-8")
UNIT: dict[str, list[str]] = defaultdict(list)
for name, value in re.findall(r"^(\w+)=(.*)$", TEXT, re.MULTILINE):
    UNIT[name].append(value)
LINES = (FOLDER / "settings").read_text(encoding="utf-8").splitlines()
SETTINGS = dict(line.split("=", 1) for line in LINES if line[:1] != "#")
OFFERED = dict(re.findall(r"^#?(\w+)=(\S+)$", "\n".join(LINES), re.MULTILINE))
MOST_EXPOSED = 1.3
"""Of 10, by `systemd-analyze security`, whose own word for up to 2 is OK."""
ANALYSE = shutil.which("systemd-analyze")


def analysed(folder: Path, *options: str) -> subprocess.CompletedProcess[str]:
    """Look at the unit as if the service were installed in a folder."""
    if ANALYSE is None:
        pytest.skip("systemd-analyze is not installed here")
    (folder / "settings").write_bytes((FOLDER / "settings").read_bytes())
    unit = folder / "drawmark.service"
    here = TEXT.replace("/opt/drawmark/bin/", f"{Path(sys.executable).parent}/")
    unit.write_text(here.replace("/etc/drawmark/", f"{folder}/"))
    return subprocess.run([ANALYSE, *options, unit], capture_output=True, text=True, timeout=30)


def test_systemd_finds_no_fault_in_it(tmp_path: Path) -> None:
    done = analysed(tmp_path, "verify", "--man=no", "--recursive-errors=no")
    assert (done.returncode, done.stderr) == (0, "")


def test_systemd_finds_it_confined(tmp_path: Path) -> None:
    done = analysed(tmp_path, "security", "--offline=true", "--no-pager")
    (figure,) = re.findall(r"Overall exposure level for \S+: (\d+\.\d)", done.stdout)
    assert float(figure) <= MOST_EXPOSED


def test_it_is_stopped_after_the_longest_deadline_and_the_time_to_send() -> None:
    longest = read_settings({"DRAWMARK_DEADLINE": "30"})
    server = GunicornServer("127.0.0.1", 8080, longest, create_app)
    assert int(UNIT["TimeoutStopSec"][0]) > server.cfg.graceful_timeout
    assert UNIT["KillMode"] == ["mixed"]
    assert UNIT["Restart"] == ["on-failure"]


def test_settings_that_come_along_are_settings() -> None:
    assert SETTINGS == {"DRAWMARK_CONFIG": "/etc/drawmark/drawmark.toml", "WEB_CONCURRENCY": "2"}
    offered = read_settings(OFFERED)
    assert offered.tokens_file
    assert offered.trusted_proxies == 1


def test_it_listens_on_this_machine_alone_and_on_no_other_in_secret() -> None:
    *_, host, _, port = UNIT["ExecStart"][0].split()
    assert (host, port) == ("127.0.0.1", "8080")
    assert UNIT["IPAddressAllow"] == ["localhost"]
    check_address(host, free_port(), read_settings(SETTINGS))


@pytest.mark.long
def test_what_it_runs_starts_says_so_reads_again_and_ends(tmp_path: Path) -> None:
    """By hand, what systemd would do: the command, the socket for its word, and both signals."""
    (tmp_path / "drawmark.toml").write_text("[rulesets.club]\n")
    port = free_port()
    program, *arguments = UNIT["ExecStart"][0].split()
    command = [Path(sys.executable).parent / Path(program).name, *arguments[:-1], str(port)]
    settings = {
        name: value.replace("/etc/drawmark", str(tmp_path)) for name, value in SETTINGS.items()
    }
    assert UNIT["ExecReload"] == ["/bin/kill -HUP $MAINPID"]
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as word:
        word.settimeout(20)
        word.bind(str(tmp_path / "word"))
        settings["NOTIFY_SOCKET"] = str(tmp_path / "word")
        process = Process(command, port, tmp_path / "log", settings, 2)
        before = os.umask(int(UNIT["UMask"][0], 8))
        try:
            with running(process):
                assert word.recv(1000).startswith(b"READY=1")
                assert ask(port)[0] == 200
                (tmp_path / "drawmark.toml").write_text("[rulesets.evening]\n")
                process.send(signal.SIGHUP)
                wait_for(lambda: b'"ruleset":"evening"' in ask(port, "/v1/rulesets", None)[1])
                assert process.stop() == 0
        finally:
            os.umask(before)
