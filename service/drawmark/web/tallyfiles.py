"""The files in which worker processes keep what they count, so that any of them can tell all.

They lie in memory where that can be had. Those of a worker that ended are added up in one file:
else each start of a worker would leave some for ever.
"""

from __future__ import annotations

import fcntl
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from drawmark.web.settings import SettingError

VARIABLE: Final = "PROMETHEUS_MULTIPROC_DIR"
"""Where prometheus-client looks for the directory."""
_MEMORY: Final = "/dev/shm"
_KINDS: Final = ("counter", "histogram")
_GONE: Final = "gone"
_LOCK: Final = "lock"


@contextmanager
def directory_for_all() -> Iterator[str]:
    """Keep an empty directory, named in the environment, until the first process ends.

    Yields
    ------
    str
        The directory: the one that the environment names already, or a new one.

    Raises
    ------
    SettingError
        If there is nowhere to write.
    """
    named = os.environ.get(VARIABLE)
    first = os.getpid()
    try:
        directory = named or _make_new()
        os.makedirs(directory, mode=0o700, exist_ok=True)
        _wipe(directory)
        Path(directory, _LOCK).touch()
    except OSError as error:
        where = f"{VARIABLE} {named}" if named else "a temporary directory"
        raise SettingError(f"{where} cannot be written: {error.strerror}") from error
    os.environ[VARIABLE] = directory
    try:
        yield directory
    finally:
        # The other processes, which were forked off in between, leave by here too.
        if os.getpid() == first:
            _wipe(directory)
            Path(directory, _LOCK).unlink(missing_ok=True)
            if not named:
                with suppress(OSError):
                    os.rmdir(directory)


def _make_new() -> str:
    return tempfile.mkdtemp(
        prefix="drawmark-metrics-",
        dir=_MEMORY if os.access(_MEMORY, os.W_OK | os.X_OK) else None,
    )


def _wipe(directory: str) -> None:
    """Remove what was counted, and nothing else."""
    for file in Path(directory).glob("*.db"):
        file.unlink(missing_ok=True)


@contextmanager
def reading(directory: str) -> Iterator[None]:
    """Read the files while none of them is added up."""
    with _locked(directory, fcntl.LOCK_SH):
        yield


def add_up(directory: str, process: int) -> None:
    """Add the files of a process that has ended to those of all that have.

    Parameters
    ----------
    directory : str
        Where they are.
    process : int
        Its id.
    """
    from prometheus_client.mmap_dict import MmapedDict
    from prometheus_client.multiprocess import mark_process_dead

    with _locked(directory, fcntl.LOCK_EX):
        mark_process_dead(process, directory)  # type: ignore[no-untyped-call]
        for kind in _KINDS:
            ended = Path(directory, f"{kind}_{process}.db")
            if not ended.exists():
                continue
            values = MmapedDict.read_all_values_from_file(ended)  # type: ignore[no-untyped-call]
            sums = MmapedDict(str(Path(directory, f"{kind}_{_GONE}.db")))  # type: ignore[no-untyped-call]
            for key, value, _, _ in values:
                before, _ = sums.read_value(key)  # type: ignore[no-untyped-call]
                sums.write_value(key, before + value, 0.0)  # type: ignore[no-untyped-call]
            sums.close()  # type: ignore[no-untyped-call]
            ended.unlink()


@contextmanager
def _locked(directory: str, how: int) -> Iterator[None]:
    with open(Path(directory, _LOCK), "rb") as file:
        fcntl.flock(file, how)
        yield
