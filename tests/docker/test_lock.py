"""The image's locks: what pyproject.toml asks for, each with hashes, and nothing else."""

import re
import runpy
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())
SERVICE, BUILD = ("requirements.lock", "build.lock")
ASKED = {
    SERVICE: PROJECT["project"]["dependencies"],
    BUILD: PROJECT["dependency-groups"]["image"],
}
script = runpy.run_path(str(ROOT / ".ci" / "lock"))
pin_images, ask_registry = script["pin_images"], script["ask_registry"]
PIN = re.compile(
    r"""^(?P<name>[a-z0-9-]+)==(?P<version>[\w.]+)(?:\ ;\ (?P<marker>[^\\\n]+))?\ \\\n
    (?P<hashes>(?:\ {4}--hash=sha256:[0-9a-f]{64}\ \\\n)*\ {4}--hash=sha256:[0-9a-f]{64}\n)
    (?P<asked_by>(?:\ {4}\#.*\n)+)""",
    re.MULTILINE | re.VERBOSE,
)


HASH = "sha256:" + 64 * "0"
SMALL = f"""\
bow==1.2 \\
    --hash={HASH} \\
    --hash={HASH}
    # via
    #   {PROJECT["project"]["name"]} (pyproject.toml)
    #   quiver
nock==3.0 ; python_version < '3.13' \\
    --hash={HASH}
    # via bow
quiver==4 \\
    --hash={HASH}
    # via {PROJECT["project"]["name"]} (pyproject.toml)
"""


def lock(name: str) -> str:
    return (ROOT / "docker" / name).read_text()


def drift(asked: list[str], text: str) -> list[str]:
    """Say where a lock disagrees with what is asked for."""
    pins = {one["name"]: one for one in PIN.finditer(text)}
    found = [f"no pin: {line.strip()}" for line in PIN.sub("", text).splitlines()]
    wanted = {one.name: one for one in map(Requirement, asked)}
    found += [f"{name} is not locked" for name in wanted.keys() - pins.keys()]
    for name, pin in pins.items():
        if name in wanted:
            if not wanted[name].specifier.contains(pin["version"]):
                found.append(f"{name} {pin['version']} is not {wanted[name].specifier}")
        elif not pins.keys() & set(re.findall(r"#(?: via)? +([a-z0-9-]+)", pin["asked_by"])):
            found.append(f"nothing needs {name}")
    return found


@pytest.mark.parametrize("name", ASKED)
def test_a_lock_is_what_the_project_asks_for(name: str) -> None:
    assert len(PIN.findall(lock(name))) > len(ASKED[name])
    assert drift(ASKED[name], lock(name)) == []


@pytest.mark.parametrize(
    ("asked", "text", "told"),
    [
        (["bow>=1", "quiver"], SMALL, []),
        (["bow>=1.3", "quiver"], SMALL, ["bow 1.2 is not >=1.3"]),
        (["bow", "quiver", "rest"], SMALL, ["rest is not locked"]),
        (["quiver"], SMALL, []),
        (["bow"], SMALL, ["nothing needs quiver"]),
        (["bow", "quiver"], SMALL + "--index-url=there\n", ["no pin: --index-url=there"]),
        (
            ["bow", "quiver"],
            SMALL + "rest==1 # via bow\n",
            ["no pin: rest==1 # via bow"],
        ),
    ],
)
def test_drift_is_told(asked: list[str], text: str, told: list[str]) -> None:
    assert drift(asked, text) == told


def test_the_image_is_built_by_what_builds_the_service() -> None:
    assert set(PROJECT["build-system"]["requires"]) <= set(ASKED[BUILD])


DIGEST = "sha256:" + 64 * "a"


@pytest.mark.parametrize(
    ("text", "digest", "pinned"),
    [
        ("ARG BASE_IMAGE=bow:1.2-slim\n", DIGEST, f"ARG BASE_IMAGE=bow:1.2-slim@{DIGEST}\n"),
        (f"ARG BASE_IMAGE=bow:1@{HASH}\n", DIGEST, f"ARG BASE_IMAGE=bow:1@{DIGEST}\n"),
        (f"ARG BASE_IMAGE=bow:1@{HASH}\n", None, f"ARG BASE_IMAGE=bow:1@{HASH}\n"),
        ("ARG BASE_IMAGE=bow:1\n", None, "ARG BASE_IMAGE=bow:1\n"),
        ("${DRAWMARK_NGINX_IMAGE:-nock:3}", DIGEST, f"${{DRAWMARK_NGINX_IMAGE:-nock:3@{DIGEST}}}"),
        ("image: ${DRAWMARK_IMAGE:-drawmark}", DIGEST, "image: ${DRAWMARK_IMAGE:-drawmark}"),
    ],
)
def test_images_get_the_digests_that_a_registry_tells(
    text: str, digest: str | None, pinned: str
) -> None:
    assert pin_images(text, lambda _: digest) == pinned


@pytest.mark.parametrize(
    ("answer", "digest"),
    [
        (f'echo \'{{"digest": "{DIGEST}"}}\'', DIGEST),
        ('echo \'{"digest": "sha256:12"}\'', None),
        ("echo '[]'", None),
        ("echo no; exit 1", None),
    ],
)
def test_only_a_digest_is_taken_for_one(
    answer: str, digest: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    docker = tmp_path / "docker"
    docker.write_text(f"#!/bin/sh\n{answer}\n")
    docker.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    ask_registry.cache_clear()
    assert ask_registry("bow:1") == digest


def test_the_base_of_the_image_is_named_alike_in_both_files() -> None:
    files = [(ROOT / "docker" / name).read_text() for name in ("Dockerfile", "compose.yaml")]
    told: list[str] = []
    for text in files:
        pin_images(text, told.append)
    base = re.findall(r"BASE_IMAGE(?:=|:-)([^}\s]+)", "".join(files))
    assert told == [base[0].partition("@")[0]] * 2 + ["nginx:1.28"]
    assert len(set(base)) == 1
