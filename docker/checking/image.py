"""The image: linted, built, and what stands in it and on it."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from checking.host import CERTIFICATES, RELEASE, Host
from checking.outcome import require, require_caught, run

IMAGE = "localhost/drawmark:ci"
AGAIN = "localhost/drawmark-again:ci"
BASE = f"localhost/base:{RELEASE}"
CREATED = "2001-02-03T04:05:06Z"
BUILD_OPTIONS = (
    "--isolation=chroot",
    "--format=docker",
    "--pull=never",
    f"--label=org.opencontainers.image.created={CREATED}",
    f"--volume={CERTIFICATES}:{CERTIFICATES}:ro",
)
"""What this host adds to a build; only the label stays in the image."""


def lint(host: Host, top: Path) -> None:
    """Hold the Dockerfile against its linter and the compose file against its schema."""
    run([host.tool("hadolint"), top / "docker" / "Dockerfile"])
    schema = "--builtin-schema=vendor.compose-spec"
    run([host.tool("check-jsonschema"), schema, top / "docker" / "compose.yaml"])


def name_base(host: Host) -> str:
    """Give the name of the base made here with its digest, which no other image has."""
    return f"{BASE}@{host.podman('image', 'inspect', '--format={{.Digest}}', BASE).strip()}"


def build(host: Host, top: Path, tag: str = IMAGE, **arguments: str) -> None:
    """Build the image as README.md tells, on the base made here."""
    stated = {"BASE_IMAGE": name_base(host)} | arguments
    host.podman(
        "build",
        *BUILD_OPTIONS,
        *(f"--build-arg={name}={value}" for name, value in stated.items()),
        f"--file={top / 'docker' / 'Dockerfile'}",
        f"--tag={tag}",
        top,
    )


def build_again(host: Host, top: Path, revision: str, plugin: str) -> str:
    """Build the image at another time, its packages too, and with a plugin more."""
    time = "1000000000"
    build(host, top, AGAIN, REVISION=revision, SOURCE_DATE_EPOCH=time, EXTRA_PLUGINS=plugin)
    return plugin


def check_digest(host: Host, top: Path) -> None:
    """Require that nothing is built on a base that has another digest."""
    other = f"{BASE}@sha256:{64 * '0'}"
    require_caught(lambda: build(host, top, "localhost/never:ci", BASE_IMAGE=other), other)


def derive(host: Host, name: str, *lines: str) -> str:
    """Build an image out of the real one with some lines more: one broken on purpose."""
    recipe = host.work / f"{name}.Dockerfile"
    recipe.write_text("\n".join((f"FROM {IMAGE}", *lines, "")))
    tag = f"localhost/{name}:ci"
    host.podman("build", *BUILD_OPTIONS, f"--file={recipe}", f"--tag={tag}", host.empty)
    return tag


def read_settings(host: Host, image: str) -> dict[str, Any]:
    """Give the image's own settings: user, health check, labels."""
    seen = json.loads(host.podman("image", "inspect", image))[0]
    settings: dict[str, Any] = {"Healthcheck": seen.get("Healthcheck")} | seen["Config"]
    return settings


def check_user(host: Host, image: str) -> None:
    """Require a user that is a number, so that an orchestrator can tell it is not root."""
    user = str(read_settings(host, image).get("User", ""))
    numbers = user.split(":")
    harmless = all(part.isdecimal() and int(part) > 0 for part in numbers)
    require(harmless, f"runs as root or by a name: {user!r}")


def check_health_declared(host: Host, image: str) -> None:
    """Require a health check."""
    test = (read_settings(host, image).get("Healthcheck") or {}).get("Test", [])
    require(bool(test) and test[0] != "NONE", "declares no health check")


def check_labels(host: Host, image: str, project: Mapping[str, Any], revision: str) -> None:
    """Require labels that say what the image is, what it was built from, and when."""
    labels = read_settings(host, image).get("Labels") or {}
    wanted = {
        "title": project["name"].title(),
        "description": project["description"],
        "licenses": project["license"],
        "version": project["version"],
        "revision": revision,
        "base.name": name_base(host),
        "created": CREATED,
    }
    for name, value in wanted.items():
        found = labels.get(f"org.opencontainers.image.{name}")
        require(found == value, f"label {name} is {found!r}, not {value!r}")


def check_document(host: Host, image: str, committed: Path) -> None:
    """Require that the document generated inside equals the committed one, byte for byte."""
    wanted = sorted(committed.glob("*.json"))
    require(len(wanted) == 1, f"{len(wanted)} documents in {committed.name}/, not one")
    made = _run_once(host, image, "drawmark", "openapi")
    same = made.encode() == wanted[0].read_bytes()
    require(same, f"differs from {committed.name}/{wanted[0].name}")


def check_plugins(host: Host, image: str, wanted: set[str]) -> None:
    """Require that these plugins, and no others, are installed beside the core."""
    probe = (
        "import importlib.metadata as m; "
        "print(*(each.name for each in m.entry_points(group='drawmark.rules.v1')))"
    )
    found = set(_run_once(host, image, "python", "-c", probe).split()) - {"core"}
    require(found == wanted, f"holds the plugins {sorted(found)}, not {sorted(wanted)}")


def _run_once(host: Host, image: str, program: str, *arguments: str) -> str:
    confined = ("--rm", "--network=none", "--read-only", "--cap-drop=all")
    return host.podman("run", *confined, f"--entrypoint={program}", image, *arguments)
