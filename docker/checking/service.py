"""The service inside: it answers a fit check, and SIGTERM loses no connection it accepted."""

import json
import threading
import time
from collections.abc import Callable, Mapping
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Any

from checking.container import PORT, Container, InsideConnection
from checking.host import Host
from checking.image import IMAGE
from checking.outcome import CheckError, require, try_run

SHORT_ARROW: dict[str, Any] = {
    "archer": {
        "draw_length": {"value": 27, "unit": "in"},
        "draw_length_convention": "standard",
    },
    "bow": {"kind": "recurve"},
    "arrow": {"length": {"value": 24, "unit": "in"}},
}
"""An arrow whose end comes behind the hand at full draw: it must be stopped, come what may."""

BODY = json.dumps(SHORT_ARROW).encode()
ESTABLISHED = "01"
HELD = 2
"""Requests held back: fewer than a worker has threads, or they may stop the others."""


def new_token(host: Host) -> tuple[str, str]:
    """Give a new token, and its line for the file of tokens."""
    made = try_run(["podman", "run", "--rm", IMAGE, "token", "new", "ci"], env=host.env)
    require(made.returncode == 0, f"no token: {made.stderr}")
    (token,) = (line.strip() for line in made.stderr.splitlines() if line.startswith("  "))
    return token, made.stdout


def check_fit(caller: HTTPConnection, headers: Mapping[str, str] | None = None) -> str:
    """Require the answer `stop` for an arrow that is far too short."""
    fields = {"Content-Type": "application/json", **(headers or {})}
    caller.request("POST", "/v1/fit-check", BODY, fields)
    answer = caller.getresponse()
    text = answer.read().decode()
    caller.close()
    require(answer.status == 200, f"answered {answer.status}: {text[:300]}")
    verdict = json.loads(text).get("verdict")
    require(verdict == "stop", f"a far too short arrow got the verdict {verdict!r}")
    return f"verdict {verdict}"


class HeldRequest:
    """A request of which the service has only the first half."""

    def __init__(self, process: Path, headers: Mapping[str, str]) -> None:
        self.caller = InsideConnection(process)
        self.caller.putrequest("POST", "/v1/fit-check")
        for field in {"Content-Type": "application/json", **headers}.items():
            self.caller.putheader(*field)
        self.caller.putheader("Content-Length", str(len(BODY)))
        self.caller.endheaders()
        self.caller.send(BODY[:20])
        self.port: int = self.caller.sock.getsockname()[1]

    def finish(self) -> None:
        """Send the other half, and require the whole answer."""
        try:
            self.caller.send(BODY[20:])
            answer = self.caller.getresponse()
            answer.read()
        except (OSError, HTTPException) as fault:
            raise CheckError(f"an accepted connection got no answer: {fault!r}") from fault
        finally:
            self.caller.close()
        require(answer.status == 200, f"an accepted connection was answered {answer.status}")


class Load:
    """Callers that ask one after another, each on a new connection, until told to end."""

    def __init__(
        self,
        dial: Callable[[], HTTPConnection],
        callers: int = 4,
        headers: Mapping[str, str] | None = None,
    ) -> None:
        self.dial = dial
        self.headers = {
            "Content-Type": "application/json",
            "Connection": "close",
            **(headers or {}),
        }
        self.outcomes: list[tuple[int, str]] = []
        self.over = threading.Event()
        self.threads = [threading.Thread(target=self._ask, daemon=True) for _ in range(callers)]
        for thread in self.threads:
            thread.start()

    def _ask(self) -> None:
        while not self.over.is_set():
            caller = self.dial()
            port = 0
            outcome = "lost"
            try:
                caller.connect()
                port = caller.sock.getsockname()[1]
                caller.request("POST", "/v1/fit-check", BODY, self.headers)
                answer = caller.getresponse()
                outcome = "torn"
                answer.read()
                outcome = "answered" if answer.status == 200 else f"answered {answer.status}"
            except ConnectionRefusedError:
                outcome = "refused"
                self.over.wait(0.02)
            except (OSError, HTTPException, CheckError):
                self.over.wait(0.02)
            finally:
                caller.close()
            self.outcomes.append((port, outcome))

    def end(self) -> None:
        """Wait for the last answers."""
        self.over.set()
        for thread in self.threads:
            thread.join(30)


def check_start(container: Container, seconds: float = 30) -> str:
    """Require that a service answers many callers at once from the moment it listens."""
    process = container.process
    load = Load(lambda: InsideConnection(process), callers=8)
    try:
        end = time.monotonic() + seconds
        while not any(outcome == "answered" for _, outcome in load.outcomes):
            require(time.monotonic() < end, "no answer in time:\n" + container.read_log())
            time.sleep(0.05)
        time.sleep(0.5)
    finally:
        load.end()
    outcomes = [outcome for _, outcome in load.outcomes if outcome != "refused"]
    bad = sorted(set(outcomes) - {"answered"})
    require(not bad, f"a request was {', '.join(bad)}:\n{container.read_faults()}")
    return f"{len(outcomes)} answers"


def list_accepted(process: Path) -> set[int]:
    """Give the callers' ports of the connections that the service has accepted.

    A connection that still waits to be accepted belongs to no socket file: its inode is 0.
    """
    ports = set()
    for line in (process / "net/tcp").read_text().splitlines()[1:]:
        fields = line.split()
        here, there, state, inode = fields[1], fields[2], fields[3], fields[9]
        if int(here.split(":")[1], 16) == PORT and state == ESTABLISHED and inode != "0":
            ports.add(int(there.split(":")[1], 16))
    return ports


def check_stop(container: Container, seconds: int, headers: Mapping[str, str] | None = None) -> str:
    """Require that SIGTERM under load loses no accepted connection and that the exit code is 0."""
    process = container.process
    load = Load(lambda: InsideConnection(process), headers=headers)
    try:
        held = [HeldRequest(process, headers or {}) for _ in range(HELD)]
        time.sleep(1)
        _wait_until_accepted(process, {each.port for each in held})
        before = len(load.outcomes)
        accepted = list_accepted(process)
        stopping = threading.Thread(target=_stop, args=(container, seconds))
        stopping.start()
        time.sleep(0.5)
        for each in held:
            each.finish()
        stopping.join()
    finally:
        load.end()
    code = container.inspect()["State"]["ExitCode"]
    require(code == 0, f"SIGTERM ended it with {code}, not 0")
    require(before > 50, f"no load to speak of: {before} answers in a second")
    earlier = {outcome for _, outcome in load.outcomes[:before]}
    require(earlier == {"answered"}, f"before SIGTERM: {sorted(earlier)}")
    later: dict[int, str] = {}
    for port, outcome in load.outcomes[before:]:
        later.setdefault(port, outcome)
    missing = {later[port] for port in accepted if port in later} - {"answered"}
    require(not missing, f"an accepted connection was {', '.join(sorted(missing))}")
    bad = {outcome for _, outcome in load.outcomes} - {"answered", "refused", "lost"}
    require(not bad, f"an answer was {', '.join(sorted(bad))}")
    answered = sum(outcome == "answered" for _, outcome in load.outcomes)
    return f"{answered} answers and {len(held)} held requests, exit code 0"


def _wait_until_accepted(process: Path, ports: set[int], seconds: float = 10) -> None:
    """Wait until each port was seen: under load, one look at the list may miss a line of it."""
    end = time.monotonic() + seconds
    seen: set[int] = set()
    while not ports <= seen:
        require(time.monotonic() < end, "held requests were not accepted")
        seen |= list_accepted(process)


def _stop(container: Container, seconds: int) -> None:
    try_run(["podman", "stop", f"--time={seconds}", container.name], env=container.host.env)
