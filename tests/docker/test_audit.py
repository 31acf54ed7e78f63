"""What is printed of known vulnerabilities, and when it fails."""

from __future__ import annotations

import json
import runpy
import subprocess
from pathlib import Path
from typing import Any

import pytest

AUDIT = Path(__file__).parents[2] / ".ci" / "audit"
PINS = ["one==1.0", "two==2.0"]
ADVICE = {"id": "A-1", "fix_versions": ["1.1"]}


def told(**vulns: list[Any] | None) -> str:
    """What the tool writes; a package without a list is one that it skipped."""
    dependencies = [
        {"name": name, "version": "1.0", "vulns": known} if known is not None else {"name": name}
        for name, known in vulns.items()
    ]
    return json.dumps({"dependencies": dependencies})


@pytest.mark.parametrize(
    ("answers", "status", "printed"),
    [
        ([told(one=[]), told(one=[], two=[])], 0, "2 packages audited, 0 vulnerabilities known"),
        ([told(one=[]), told(one=[], two=None)], 0, "not audited: two"),
        ([told(one=[]), told(one=[ADVICE], two=[])], 1, "one 1.0: A-1, fixed in 1.1"),
        ([told(one=None)], 0, "NOT AUDITED: the package index serves no advisories (2 packages)"),
        ([""], "audit: pip-audit failed with status 3\nno route", ""),
        ([None], "audit: no answer in 120 s", ""),
        ([told(one=[]), told(one=None, two=None)], "audit: the index answered for one ", ""),
    ],
    ids=["none known", "one skipped", "one known", "no advisories", "broken", "late", "halfway"],
)
def test_what_is_told_and_when_it_fails(
    monkeypatch: Any, tmp_path: Path, capsys: Any, answers: list[Any], status: Any, printed: str
) -> None:
    left = iter(answers)

    def run(command: list[Any], **options: Any) -> Any:
        if "install" in command:
            return None
        answer = next(left)
        if answer is None:
            raise subprocess.TimeoutExpired(command, options["timeout"])
        return subprocess.CompletedProcess(command, 0 if answer else 3, answer, "no route\n")

    pins = tmp_path / "installed.txt"
    pins.write_text("\n".join(PINS))
    monkeypatch.setattr("sys.argv", ["audit", str(pins)])
    monkeypatch.setattr("subprocess.run", run)
    monkeypatch.setattr("venv.create", lambda *_, **__: None)
    with pytest.raises(SystemExit) as ended:
        runpy.run_path(str(AUDIT), run_name="__main__")
    assert str(ended.value.code).startswith(str(status))
    assert printed in capsys.readouterr().out
