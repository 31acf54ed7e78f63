"""Each licence of what the image holds is listed and allowed."""

import re
from pathlib import Path, PurePosixPath
from typing import Any

import pytest
from checking import licences
from checking.content import Tree
from checking.outcome import CheckError

FOLDER = Path(__file__).parents[2] / "docker"
PAGE = """
| package | licence |
| --- | --- |
| bow | MIT |
| nock-piece | BSD-3-Clause |

| library | licence |
| --- | --- |
| libgrip | LGPL-2.1-or-later |
"""
FILE = ("-rw-r--r--", 0, 0, 1, "")
SITE = PurePosixPath("/opt/drawmark/lib/python3.13/site-packages")


def tree(*names: str) -> Tree:
    return {SITE / name: FILE for name in names}


def bill(**stated: dict[str, Any]) -> dict[str, Any]:
    components = [
        {"name": name, "version": "1.0", "licenses": [licence]} for name, licence in stated.items()
    ]
    return {"specVersion": "1.6", "metadata": {}, "components": components}


MIT, GPL = {"license": {"id": "MIT"}}, {"license": {"id": "GPL-3.0-only"}}
BOTH = {"expression": "MIT OR PSF-2.0"}
VAGUE = {"license": {"name": "License :: OSI Approved :: BSD License"}}
HELD = {"bow": MIT, "nock_piece": VAGUE, "drawmark": MIT}
TREE = tree("bow-1.0.dist-info", "nock_piece-1.0.dist-info", "drawmark-1.0.dist-info")
LIBRARY = tree("bow.libs/libgrip-040039e1.so.5", "bow.libs/libgrip64_-32.so")


@pytest.mark.parametrize(
    ("held", "page", "fault"),
    [
        (HELD, PAGE, None),
        (HELD | {"bow": GPL}, PAGE, "bow is under GPL-3.0-only, in licences.md under MIT"),
        (HELD | {"drawmark": GPL}, PAGE, "drawmark is under GPL-3.0-only"),
        (HELD | {"bow": GPL}, PAGE.replace("MIT", "GPL-3.0-only"), "bow: GPL-3.0-only is not"),
        (
            HELD | {"bow": BOTH},
            PAGE.replace("MIT", "MIT OR PSF-2.0"),
            None,
        ),
        (HELD, PAGE.replace("BSD-3-Clause", "MIT"), "nock-piece is under .*BSD License"),
        (HELD, PAGE.replace("| libgrip | LGPL-2.1-or-later |", ""), "libgrip"),
        (HELD | {"rest": MIT}, PAGE, "rest"),
        (HELD, PAGE + "| rest | MIT |\n", "rest"),
    ],
)
def test_licences_are_listed_and_allowed(
    held: dict[str, Any], page: str, fault: str | None
) -> None:
    def check() -> None:
        licences.check_licences(TREE | LIBRARY, bill(**held), page)

    if fault is None:
        check()
    else:
        with pytest.raises(CheckError, match=fault):
            check()


@pytest.mark.parametrize("name", ["bow-2.0.dist-info", "rest-1.0.dist-info"])
def test_the_bill_lists_what_is_installed(name: str) -> None:
    assert "CycloneDX 1.6, 3 packages" in licences.check_bill(TREE, bill(**HELD))
    with pytest.raises(CheckError, match=name.split("-")[0]):
        licences.check_bill(TREE | tree(name), bill(**HELD))


@pytest.mark.parametrize("told", [{"serialNumber": "1"}, {"metadata": {"timestamp": "now"}}])
def test_the_bill_is_the_same_in_every_build(told: dict[str, Any]) -> None:
    with pytest.raises(CheckError, match="another in every build"):
        licences.check_bill(TREE, bill(**HELD) | told)


def test_what_is_locked_has_a_licence() -> None:
    listed = licences.read_rows((FOLDER / "licences.md").read_text())
    lock = (FOLDER / "requirements.lock").read_text()
    locked = re.findall(r"^([a-z0-9-]+)==(?!.* ; sys_platform == 'win32')", lock, re.MULTILINE)
    assert {name for name in listed if not name.startswith("lib")} == set(locked)
