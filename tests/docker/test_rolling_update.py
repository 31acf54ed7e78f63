"""A rolling update from the last release, behind nginx: both versions answer every request."""

import json
import os
import subprocess
import tarfile
import tomllib
from collections.abc import Iterator
from contextlib import ExitStack
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from builders.wire import archer
from servers import Load, Process, ask, service, wait_for

ROOT = Path(__file__).parents[2]
RELEASED = tomllib.loads((ROOT / "tests" / "compatibility" / "released.toml").read_text())
OLD = f"{RELEASED['version']}+released"
"""A version of its own: until the next is set, the present code has that of the last release."""
ASKED = {"archer": archer(27), "bow": {"kind": "recurve"}}


@pytest.fixture
def released(tmp_path: Path) -> Path:
    """Give the folder of the last release's code, installed as far as imports can tell."""
    history = os.environ.get("TESTS_HISTORY")
    command = ["git", "-c", f"safe.directory={history or ROOT}", "archive", RELEASED["commit"]]
    packed = subprocess.run(
        [*command, "service/drawmark", "pyproject.toml"], cwd=history or ROOT, capture_output=True
    )
    if packed.returncode != 0:
        assert not history, packed.stderr
        pytest.skip("the last release is not in the history here")
    with tarfile.open(fileobj=BytesIO(packed.stdout)) as tree:
        tree.extractall(tmp_path / "released", filter="data")
    folder = tmp_path / "released" / "service"
    project = tomllib.loads((tmp_path / "released" / "pyproject.toml").read_text())["project"]
    assert project["version"] == RELEASED["version"]
    about = folder / "drawmark.dist-info"
    about.mkdir()
    (about / "METADATA").write_text(f"Metadata-Version: 2.1\nName: drawmark\nVersion: {OLD}\n")
    points = "".join(
        f"[{group}]\n" + "".join(f"{name} = {place}\n" for name, place in each.items())
        for group, each in project["entry-points"].items()
    )
    (about / "entry_points.txt").write_text(points)
    return folder


@pytest.fixture
def copies(tmp_path: Path, released: Path) -> Iterator[list[Process]]:
    """Start two copies of the last release."""
    (tmp_path / "club.toml").write_text("[rulesets.club]\nplugins = []\n")
    settings = {"WEB_CONCURRENCY": "1", "DRAWMARK_CONFIG": str(tmp_path / "club.toml")}
    with ExitStack() as running:
        started = []
        for name in ("one", "two"):
            copy = service(tmp_path, name, PYTHONPATH=str(released), **settings)
            running.callback(copy.end)
            copy.start()
            started.append(copy)
        yield started


@pytest.mark.long
def test_a_rolling_update_from_the_last_release_loses_no_request(
    copies: list[Process], front: Any
) -> None:
    nginx = front(*(copy.port for copy in copies))
    pairs: set[tuple[str, str]] = set()
    verdicts: set[str] = set()

    def ask_twice(port: int) -> tuple[int, bytes]:
        """Ask for a length, then for a check of such an arrow, as a club's program does."""
        status, text = ask(port, "/v1/recommended-length", json.dumps(ASKED).encode())
        if status != 200:
            return status, text
        first = json.loads(text)
        asked = ASKED | {"arrow": {"length": first["recommended"]}}
        status, text = ask(port, "/v1/fit-check", json.dumps(asked).encode())
        if status == 200:
            second = json.loads(text)
            pairs.add((first["engine"]["version"], second["engine"]["version"]))
            verdicts.add(second["verdict"])
        return status, text

    with Load(nginx.port, ask_twice) as load:
        wait_for(lambda: pairs == {(OLD, OLD)})
        update(copies[0])
        wait_for(lambda: len(pairs) == 4)
        update(copies[1])
        pairs.clear()
        answered = load.answered
        wait_for(lambda: load.answered > answered + 10)
    assert load.failed == []
    assert OLD not in {version for pair in pairs for version in pair}
    assert verdicts == {"pass"}


def update(copy: Process) -> None:
    """End a copy as an orchestrator does, and start the present version in its place."""
    assert copy.stop() == 0
    copy.environment = {
        name: value for name, value in copy.environment.items() if name != "PYTHONPATH"
    }
    copy.start()
