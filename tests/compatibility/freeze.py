"""Keep what a release takes and answers, to hold later versions to it.

Usage, in the folder `tests`:

    python -m compatibility.freeze COMMIT

It installs that commit in an environment of its own, starts its service with the club's file of its
demo, and asks what its document shows. Document, answers, club's file and plugins go to
`released/`.
"""

from __future__ import annotations

import io
import json
import lzma
import shutil
import subprocess
import sys
import tarfile
import tempfile
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import requests

from compatibility import released
from servers import free_port, wait_for

ROOT: Final = Path(__file__).parents[2]
PLUGINS: Final = ("clicker-clearance", "club-minimums")
"""Those whose rules the club's file names."""
RULE_SET: Final = "hall"
CLICKER: Final = {
    "archer": {
        "draw_length": {"value": 27.5, "unit": "in"},
        "draw_length_convention": "standard",
        "draw_control": "clicker",
    },
    "bow": {
        "kind": "recurve",
        "rest_position": {"value": 0, "unit": "in"},
        "clicker_range": {"near": {"value": 1, "unit": "in"}, "far": {"value": 2.5, "unit": "in"}},
    },
    "local": {"clicker-clearance": {"position": {"value": 2, "unit": "in"}}},
}
"""What the plugins ask for beside what the examples hold."""
ASKED_FOR: Final = ("application/json", "application/x-ndjson", "text/csv", "text/plain")


def main(commit: str) -> None:
    """Keep a release."""
    commit = _git("rev-parse", commit).decode().strip()
    with tempfile.TemporaryDirectory() as work:
        top = Path(work)
        with tarfile.open(fileobj=io.BytesIO(_git("archive", commit))) as archive:
            archive.extractall(top, filter="data")
        shutil.rmtree(released.FOLDER, ignore_errors=True)
        released.FOLDER.mkdir()
        shutil.copy(top / "service/drawmark/demo/club.toml", released.FOLDER / "club.toml")
        for name in PLUGINS:
            shutil.copytree(
                top / "plugins" / name,
                released.FOLDER / "plugins" / name,
                ignore=shutil.ignore_patterns("README.md", "LICENSE"),
            )
        document = json.loads((top / "openapi/drawmark.json").read_text())
        _keep("document", document)
        with _served(top) as url:
            _keep("answers", list(_answers(url, document)))
        project = tomllib.loads((top / "pyproject.toml").read_text())["project"]
    released.STATED.write_text(
        "# The last release, which `python -m compatibility.freeze COMMIT` keeps.\n"
        f'version = "{project["version"]}"\ncommit = "{commit}"\n'
    )


def _git(*words: str) -> bytes:
    return subprocess.run(["git", "-C", ROOT, *words], check=True, stdout=subprocess.PIPE).stdout


def _keep(name: str, value: Any) -> None:
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    (released.FOLDER / f"{name}.json.xz").write_bytes(lzma.compress(text.encode(), preset=9))


@contextmanager
def _served(top: Path) -> Iterator[str]:
    """Install and start a service; give its address."""
    python, port = top / ".venv/bin/python", free_port()
    subprocess.run([sys.executable, "-m", "venv", top / ".venv"], check=True)
    packages = [top, *(top / "plugins" / name for name in PLUGINS)]
    subprocess.run([python, "-m", "pip", "install", "-q", *packages], check=True)
    command = [python, "-m", "drawmark.cli", "serve", "--port", str(port)]
    club = {"DRAWMARK_CONFIG": str(released.FOLDER / "club.toml"), "DRAWMARK_LOG_REQUESTS": "0"}
    # From `work`, so that nothing here is imported in place of what was installed.
    running = subprocess.Popen(command, env=club, cwd=top / ".venv")
    try:
        url = f"http://127.0.0.1:{port}"
        wait_for(lambda: _is_up(url))
        yield url
    finally:
        running.terminate()
        running.wait()


def _is_up(url: str) -> bool:
    try:
        return requests.get(f"{url}/readyz", timeout=5).ok
    except requests.ConnectionError:
        return False


def _answers(url: str, document: Any) -> Iterator[dict[str, Any]]:
    """Ask all that the document shows, and its calculations under the club's own rules too."""
    for path, methods in document["paths"].items():
        if path == "/openapi.json":  # It is kept apart.
            continue
        for method, operation in methods.items():
            content = operation["responses"]["200"]["content"]
            for wanted in (one for one in content if one in ASKED_FOR):
                for body in _bodies(path, operation):
                    kind = "application/json"
                    if wanted == "application/x-ndjson":
                        kind = wanted
                        body = "".join(
                            json.dumps(item) + "\n" for item in json.loads(body)["items"]
                        )
                    asked = {"path": path, "method": method, "body": body, "type": kind}
                    reply = requests.request(
                        method,
                        url + path,
                        data=body,
                        headers={"Content-Type": kind, "Accept": wanted},
                        timeout=60,
                    )
                    if reply.status_code == 200:
                        yield {**asked, "accept": wanted, "answer": reply.content.decode()}


def _bodies(path: str, operation: Any) -> Iterator[str | None]:
    """Give the example of a request, and variants of it: with the club's rules, with a clicker.

    One that an operation refuses is not kept.
    """
    if "requestBody" not in operation:
        yield None
        return
    example = operation["requestBody"]["content"]["application/json"]["example"]
    yield json.dumps(example)
    for more in ({}, CLICKER):
        more = {**more, "ruleset": RULE_SET}
        if path.endswith("/batch"):
            yield json.dumps({"items": [{**item, **more} for item in example["items"]]})
        else:
            yield json.dumps({**example, **more})


if __name__ == "__main__":
    main(sys.argv[1])
