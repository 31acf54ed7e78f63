"""A running container: confined as compose.yaml confines it, and probed from outside and inside."""

import ctypes
import errno
import json
import os
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

from checking.host import Host
from checking.outcome import CheckError, require, try_run

PORT = 8000
LIMITS = ("--memory=768m", "--pids-limit=128", "--tmpfs=/tmp:size=160m,mode=1777")
CONFINED = (
    "--read-only",
    "--read-only-tmpfs=false",
    "--cap-drop=all",
    "--security-opt=no-new-privileges",
)
NEW_NETWORK = 0x40000000


@dataclass(frozen=True, kw_only=True)
class Container:
    """One running container, reached inside its own network so that no port or rule is needed."""

    host: Host
    name: str

    def inspect(self) -> dict[str, Any]:
        """Give all that the engine says of the container."""
        seen: dict[str, Any] = json.loads(self.host.podman("container", "inspect", self.name))[0]
        return seen

    @property
    def process(self) -> Path:
        """The folder of the first process under /proc, as the host sees it."""
        number = self.inspect()["State"]["Pid"]
        require(number > 0, "has ended:\n" + self.read_log())
        return Path("/proc") / str(number)

    @property
    def children(self) -> set[str]:
        """The children of the first process: the workers."""
        process = self.process
        return set((process / "task" / process.name / "children").read_text().split())

    def read_log(self) -> str:
        """Give the last lines the container wrote."""
        return "\n".join(self._read_lines()[-20:])

    def read_faults(self) -> str:
        """Give the last of the lines that are not of a request."""
        return "\n".join([line for line in self._read_lines() if '"status":' not in line][-20:])

    def _read_lines(self) -> list[str]:
        done = try_run(["podman", "logs", self.name], env=self.host.env)
        return (done.stdout + done.stderr).splitlines()


class InsideConnection(HTTPConnection):
    """A connection made from inside a network namespace, used from outside."""

    def __init__(self, process: Path) -> None:
        super().__init__("127.0.0.1", PORT, timeout=20)
        self.process = process

    def connect(self) -> None:
        """Connect there; a socket stays in the namespace in which it was made."""
        system = ctypes.CDLL(None, use_errno=True)
        with (
            (self.process / "ns/net").open() as there,
            Path("/proc/thread-self/ns/net").open() as here,
        ):
            if system.setns(there.fileno(), NEW_NETWORK) != 0:
                raise CheckError(f"no way into the network: {os.strerror(ctypes.get_errno())}")
            try:
                self.sock = socket.create_connection((self.host, self.port), timeout=20)
            finally:
                system.setns(here.fileno(), NEW_NETWORK)


@contextmanager
def running(
    host: Host, image: str, name: str, confinement: tuple[str, ...] = CONFINED
) -> Iterator[Container]:
    """Run an image with no network but its own loopback, and end it."""
    settings = ("--env=DRAWMARK_ALLOW_OPEN=1", "--env=DRAWMARK_TRUSTED_PROXIES=1")
    environment = (*settings, "--network=none", "--health-interval=disable")
    host.podman("run", "--detach", f"--name={name}", *confinement, *LIMITS, *environment, image)
    try:
        yield Container(host=host, name=name)
    finally:
        host.remove(name)


def wait_until_healthy(container: Container, seconds: float = 30) -> None:
    """Require that the image's own health check succeeds soon."""
    end = time.monotonic() + seconds
    while not _is_healthy(container):
        require(time.monotonic() < end, "not healthy in time:\n" + container.read_log())
        time.sleep(0.2)


def check_healthy(container: Container) -> None:
    """Require that the image's own health check succeeds now."""
    require(_is_healthy(container), "is not healthy")


def _is_healthy(container: Container) -> bool:
    command = ["podman", "healthcheck", "run", container.name]
    return try_run(command, env=container.host.env, timeout=30).returncode == 0


def check_confined(container: Container, megabytes: int = 768, processes: int | None = 128) -> str:
    """Require what the kernel itself says of the process and its limits; None is any number."""
    status = dict(
        line.split(":\t", 1) for line in (container.process / "status").read_text().splitlines()
    )
    require("0" not in status["Uid"].split(), "runs as root")
    for kind in ("CapEff", "CapPrm", "CapBnd", "CapAmb"):
        require(int(status[kind], 16) == 0, f"holds capabilities: {kind} {status[kind]}")
    require(status["NoNewPrivs"] == "1", "may gain privileges")
    memory = _read_limit(container, "memory", "memory.max", "memory.limit_in_bytes")
    require(memory == megabytes * 2**20, f"memory limit is {memory}")
    if processes is not None:
        pids = _read_limit(container, "pids", "pids.max", "pids.max")
        require(pids == processes, f"pids limit is {pids}")
    return f"{memory >> 20} MB, {processes} processes"


def _read_limit(container: Container, controller: str, unified: str, legacy: str) -> int:
    for line in (container.process / "cgroup").read_text().splitlines():
        _, names, path = line.split(":", 2)
        root = Path("/sys/fs/cgroup")
        folders = {"": (root, unified), controller: (root / controller, legacy)}
        for name in names.split(","):
            folder, file = folders.get(name, (root, ""))
            limit = folder / path.lstrip("/") / file
            if file and limit.is_file():
                text = limit.read_text().strip()
                return int(text) if text.isdecimal() else 2**63
    raise CheckError(f"no {controller} limit found")


def check_read_only(container: Container) -> None:
    """Require that even root inside cannot write to the root file system."""
    probe = (
        "import sys\n"
        "unclear = ''\n"
        "for place in ('/', '/etc', '/usr', '/opt/drawmark'):\n"
        "    try:\n"
        "        open(f'{place}/probe', 'w').close()\n"
        "        sys.exit(f'can write to {place}')\n"
        "    except OSError as fault:\n"
        f"        if fault.errno != {errno.EROFS}: unclear = f'cannot tell: {{fault}}'\n"
        "sys.exit(unclear or 0)\n"
    )
    inside = ["podman", "exec", "--user=0", container.name, "python", "-c", probe]
    done = try_run(inside, env=container.host.env)
    require(done.returncode == 0, done.stderr.strip() or "cannot be probed")
