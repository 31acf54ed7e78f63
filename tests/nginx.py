"""Debian's nginx, with the settings of the compose file, before services on loopback."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from pathlib import Path

from servers import Process, free_port

SETTINGS = Path(__file__).parents[1] / "docker" / "nginx"


def find_nginx() -> str | None:
    return shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")


def place(ports: Sequence[int], profile: str) -> str:
    """Give the servers of a profile, as many as there are ports, at those ports."""
    first = "drawmark-1:8000"
    lines = (SETTINGS / "upstream" / f"{profile}.conf").read_text().splitlines()
    servers = [line for line in lines if first in line]
    return "\n".join(line.replace(first, f"127.0.0.1:{port}") for line in servers for port in ports)


def nginx(
    folder: Path,
    ports: Sequence[int],
    *,
    profile: str = "replicas",
    scheme: str = "http",
    addresses: int = 0,
    rate: int = 0,
    **replaced: str,
) -> Process:
    """Give nginx, not yet started, before some ports, with some settings replaced.

    It limits nobody where no rate is asked for: here all callers have one address.
    """
    found = find_nginx()
    assert found is not None, "nginx is not installed here"
    port = free_port()
    settings = (SETTINGS / "nginx.conf").read_text()
    listen = (SETTINGS / "listen" / f"{scheme}.conf").read_text()
    (folder / "listen.conf").write_text(listen.replace("8080", f"127.0.0.1:{port}"))
    shutil.copy(SETTINGS / "addresses" / f"{addresses}.conf", folder / "addresses.conf")
    shutil.copy(SETTINGS / "limits" / f"{rate}.conf", folder / "limits.conf")
    changes = {}
    for name, value in replaced.items():
        line = next(line for line in settings.splitlines() if line.strip().startswith(name))
        changes[line] = f"{name} {value};"
    for old, new in changes.items():
        assert old in settings
        settings = settings.replace(old, new)
    if os.geteuid() == 0:
        settings = f"user root;\n{settings}"
    (folder / "nginx.conf").write_text(settings)
    (folder / "upstream.conf").write_text(place(ports, profile))
    command: list[str | Path] = [found, "-e", "/dev/stderr", "-p", folder]
    return Process([*command, "-c", folder / "nginx.conf"], port, folder / "nginx.log")
