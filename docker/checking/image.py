"""The image: linted, built, and what stands in it and on it."""

import json
from pathlib import Path
from typing import Any

from checking.host import CERTIFICATES, RELEASE, Host
from checking.outcome import require, run

IMAGE = "localhost/drawmark:ci"
BASE = f"localhost/base:{RELEASE}"
BUILD_OPTIONS = (
    "--isolation=chroot",
    "--format=docker",
    "--pull=never",
    f"--volume={CERTIFICATES}:{CERTIFICATES}:ro",
)
"""What this host adds to a build; none of it stays in the image."""


def lint(host: Host, top: Path) -> None:
    """Hold the Dockerfile against its linter and the compose file against its schema."""
    run([host.tool("hadolint"), top / "docker" / "Dockerfile"])
    schema = "--builtin-schema=vendor.compose-spec"
    run([host.tool("check-jsonschema"), schema, top / "docker" / "compose.yaml"])


def build(host: Host, top: Path, revision: str, plugins: str = "", tag: str = IMAGE) -> None:
    """Build the image as README.md tells, on the base made here."""
    arguments = {"BASE_IMAGE": BASE, "REVISION": revision, "EXTRA_PLUGINS": plugins}
    host.podman(
        "build",
        *BUILD_OPTIONS,
        *(f"--build-arg={name}={value}" for name, value in arguments.items()),
        f"--file={top / 'docker' / 'Dockerfile'}",
        f"--tag={tag}",
        top,
    )


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


def check_labels(host: Host, image: str, version: str, revision: str) -> None:
    """Require that labels say which version and revision the image was built from."""
    labels = read_settings(host, image).get("Labels") or {}
    for name, wanted in (("version", version), ("revision", revision)):
        found = labels.get(f"org.opencontainers.image.{name}")
        require(found == wanted, f"label {name} is {found!r}, not {wanted!r}")


def check_content(host: Host, image: str) -> str:
    """Require no build tools, and the certificates of the base, not those of the build host."""
    probe = (
        "import importlib.metadata as m, shutil, sys; "
        "names = {d.name.lower() for d in m.distributions()}; "
        "bad = names & {'pip', 'setuptools', 'wheel'}; "
        "bad |= {tool for tool in ('gcc', 'cc', 'make') if shutil.which(tool)}; "
        "print(sys.version.split()[0]); sys.exit(f'holds build tools: {sorted(bad)}' if bad else 0)"
    )
    version = _run_once(host, image, "python", "-c", probe).strip()
    sums = {_run_once(host, each, "sha256sum", str(CERTIFICATES)) for each in (image, BASE)}
    require(len(sums) == 1, "the build host's certificates stayed in the image")
    return f"Python {version}"


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
