"""One line of outcome a step, and commands whose failure is a step's failure."""

import subprocess
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path


class CheckError(Exception):
    """What was checked is not as it must be."""


def require(holds: bool, otherwise: str) -> None:
    """Raise CheckError with the reason, unless what is required holds."""
    if not holds:
        raise CheckError(otherwise)


@contextmanager
def step(name: str) -> Iterator[list[str]]:
    """Print one line when a step has ended; what it puts into the list stands in that line."""
    said: list[str] = []
    start = time.monotonic()
    try:
        yield said
    except CheckError as fault:
        print(f"FAILED  {name}: {fault}", flush=True)
        raise
    remarks = f": {'; '.join(said)}" if said else ""
    print(f"ok      {name}{remarks} ({time.monotonic() - start:.1f} s)", flush=True)


def run(
    command: Sequence[str | Path],
    *,
    env: Mapping[str, str] | None = None,
    cwd: Path | None = None,
    timeout: float = 600,
) -> str:
    """Run a command and give what it printed; its failure is the step's."""
    done = try_run(command, env=env, cwd=cwd, timeout=timeout)
    if done.returncode != 0:
        last = "\n".join((done.stdout + done.stderr).strip().splitlines()[-30:])
        words = " ".join(map(str, command[:3]))
        raise CheckError(f"{words} ... ended with {done.returncode}\n{last}")
    return done.stdout


def try_run(
    command: Sequence[str | Path],
    *,
    env: Mapping[str, str] | None = None,
    cwd: Path | None = None,
    timeout: float = 600,
) -> subprocess.CompletedProcess[str]:
    """Run a command whose failure may be what is wanted."""
    try:
        return subprocess.run(
            [str(part) for part in command],
            env=env,
            cwd=cwd,
            timeout=timeout,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            errors="replace",
        )
    except FileNotFoundError as fault:
        raise CheckError(f"{command[0]} is not installed") from fault
    except subprocess.TimeoutExpired as fault:
        raise CheckError(f"{command[0]} did not end within {timeout:g} s") from fault


def require_caught(check: Callable[[], object], reason: str) -> str:
    """Require that a check fails on something broken on purpose, and for the reason given."""
    try:
        check()
    except CheckError as fault:
        require(reason in str(fault), f"caught for another reason: {fault}")
        return str(fault).splitlines()[0]
    raise CheckError("not caught")
