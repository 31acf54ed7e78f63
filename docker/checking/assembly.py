"""compose.yaml run for real: nginx in front of one service, then of three."""

import json
import os
import shutil
import socket
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException, HTTPResponse
from pathlib import Path

from checking.bad_bodies import check_bad_bodies
from checking.container import Container, check_confined, check_read_only, wait_until_healthy
from checking.host import RELEASE, Host
from checking.image import IMAGE
from checking.outcome import CheckError, require, run, step
from checking.service import Load, check_fit, new_token

PROBLEM = "application/problem+json"
PROJECT = "drawmark-check"
REPLICAS = ("drawmark-1", "drawmark-2", "drawmark-3")
NO_LIMIT = {"DRAWMARK_NGINX_RATE": "0"}
"""For callers that ask without pause, all from one address."""

LEASES = Path("/var/lib/cni/networks") / f"{PROJECT}_club"
"""Where an engine of Debian 12 notes the addresses it gave."""


@dataclass(frozen=True, kw_only=True)
class Assembly:
    """The containers of compose.yaml, and the port at which nginx answers."""

    host: Host
    file: Path
    port: int
    env: Mapping[str, str]

    def compose(self, *arguments: str) -> str:
        """Run a command of compose."""
        tool = self.host.tool("podman-compose")
        name = ("--project-name", PROJECT)
        return run([tool, "--file", self.file, *name, *arguments], env=self.env, timeout=180)

    def dial(self) -> HTTPConnection:
        """Give a new connection to nginx."""
        return HTTPConnection("127.0.0.1", self.port, timeout=20)

    def ask(
        self,
        path: str,
        body: bytes | None = None,
        method: str = "GET",
        headers: Mapping[str, str] | None = None,
    ) -> tuple[HTTPResponse, bytes]:
        """Ask nginx once."""
        caller = self.dial()
        try:
            caller.request(method, path, body, headers or {})
            answer = caller.getresponse()
            return answer, answer.read()
        finally:
            caller.close()

    def find(self, service: str) -> Container:
        """Give the container of a service."""
        label = f"label=com.docker.compose.service={service}"
        names = self.host.podman("ps", "--all", "--filter", label, "--format={{.Names}}").split()
        require(len(names) == 1, f"{len(names)} containers of {service}")
        return Container(host=self.host, name=names[0])

    def wait(self, seconds: float = 30) -> None:
        """Wait until a request gets through nginx to a service that is ready."""
        end = time.monotonic() + seconds
        while True:
            try:
                status = self.ask("/readyz")[0].status
            except (OSError, HTTPException):
                status = 0
            if status == 200:
                return
            require(time.monotonic() < end, f"not ready through nginx: {status}")
            time.sleep(0.2)

    def require_problem(
        self, allowed: set[int], path: str, body: bytes | None = None, method: str = "GET"
    ) -> None:
        """Require that nginx refuses in the shape of a problem."""
        answer, text = self.ask(path, body, method)
        status = answer.status
        require(status in allowed, f"{path} was answered {status}, not {sorted(allowed)}")
        kind = answer.headers.get_content_type()
        require(kind == PROBLEM, f"{path}: the {status} is {kind}")
        require(json.loads(text)["status"] == status, f"{path}: another status in the body")


@contextmanager
def assembled(host: Host, top: Path, profile: str, **settings: str) -> Iterator[Assembly]:
    """Bring up what compose.yaml describes, with the images made here, and take it down."""
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port: int = probe.getsockname()[1]
    env = host.env | {
        "PATH": f"{host.tool('podman-compose').parent}:{os.environ['PATH']}",
        "DRAWMARK_IMAGE": IMAGE,
        "DRAWMARK_NGINX_IMAGE": f"localhost/nginx:{RELEASE}",
        "DRAWMARK_LISTEN": f"127.0.0.1:{port}",
        **settings,
    }
    if profile:
        env["COMPOSE_PROFILES"] = profile
    assembly = Assembly(host=host, file=top / "docker" / "compose.yaml", port=port, env=env)
    try:
        assembly.compose("up", "--detach", "--no-build")
        assembly.wait()
        yield assembly
    finally:
        assembly.compose("down", "--timeout=10")
        shutil.rmtree(LEASES, ignore_errors=True)


def check_assembly(host: Host, top: Path) -> None:
    """Require that compose.yaml holds what README.md says of it."""
    token, settings = _give_token(host)
    with (
        step("compose: nginx before one service") as said,
        assembled(host, top, "", **settings, **NO_LIMIT) as assembly,
    ):
        assembly.require_problem({401}, "/v1/rules")
        allowed = {"Authorization": f"Bearer {token}"}
        said.append(check_fit(assembly.dial(), allowed))
        service, front = assembly.find("drawmark-1"), assembly.find("nginx")
        for container, megabytes, processes in ((service, 768, 128), (front, 256, 16)):
            check_confined(container, megabytes, processes)
        check_read_only(service)
        require(assembly.ask("/healthz")[0].status == 200, "the health check is closed")
        for path in ("/metrics", "/metrics/", "//metrics", "/%6detrics", "/v1/../metrics"):
            assembly.require_problem({403}, path)
        assembly.require_problem({413}, "/v1/fit-check", b" " * (64 * 2**10 + 1), "POST")
        said.append(check_bad_bodies(assembly.dial, [service], allowed, sample=True))
        host.podman("stop", "--time=20", service.name)
        # Which of the two depends on whether the address of a stopped container still answers.
        assembly.require_problem({502, 504}, "/readyz")
        host.podman("start", service.name)
        assembly.wait()
        said.append("a problem while the service was stopped, well again after it")
    with (
        step("compose: nginx limits a caller") as said,
        assembled(host, top, "", **settings) as assembly,
    ):
        said.append(_check_limit(assembly, {"Authorization": f"Bearer {token}"}))
    name = "compose: nginx before three, one reads its files again, one is killed and started again"
    with step(name) as said, assembled(host, top, "replicas", **NO_LIMIT) as assembly:
        said.append(_check_replicas(assembly))


def _give_token(host: Host) -> tuple[str, dict[str, str]]:
    """Make a club's folder with a token, and give the token and the settings that name them."""
    club = host.work / "club"
    club.mkdir()
    (club / "drawmark.toml").write_text("[rulesets.club]\n")
    token, line = new_token(host)
    (club / "tokens").write_text(line)
    return token, {"DRAWMARK_CLUB": str(club), "DRAWMARK_TOKENS_FILE": "/etc/drawmark/tokens"}


def _check_limit(assembly: Assembly, headers: Mapping[str, str]) -> str:
    """Require that nginx ends to let a caller through that asks without pause, and that alone."""
    count, status = 0, 403
    while status == 403 and count < 1000:
        # nginx refuses this path by itself, once it has counted.
        answer, _ = assembly.ask("/metrics", headers=headers)
        count, status = count + 1, answer.status
    require(status == 429, f"request {count} without pause was answered {status}")
    require(count > 100, f"request {count} was refused")
    require(answer.headers["Retry-After"] == "1", "a refusal does not say when to ask again")
    require(assembly.ask("/v1/rules")[0].status == 401, "another caller is refused")
    return f"429 at request {count} without pause"


def _check_replicas(assembly: Assembly) -> str:
    # nginx needs one of the three to be ready; the others may still be starting.
    for name in REPLICAS:
        wait_until_healthy(assembly.find(name))
    refused = check_bad_bodies(assembly.dial, [assembly.find(name) for name in REPLICAS], {})
    killed = assembly.find(REPLICAS[1])
    load = Load(assembly.dial)
    try:
        assembly.host.podman("kill", "--signal=HUP", assembly.find(REPLICAS[0]).name)
        time.sleep(1)
        assembly.host.podman("kill", "--signal=KILL", killed.name)
        time.sleep(1)
        assembly.host.podman("start", killed.name)
        time.sleep(2)
    finally:
        load.end()
    bad = [outcome for _, outcome in load.outcomes if outcome != "answered"]
    if bad:
        told = "\n".join(assembly.find(name).read_faults() for name in ("nginx", *REPLICAS))
        raise CheckError(f"{len(bad)} requests failed: {', '.join(sorted(set(bad)))}\n{told}")
    return f"{refused}; {len(load.outcomes)} requests, none failed"
