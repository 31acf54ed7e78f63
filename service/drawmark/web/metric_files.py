"""The files in which worker processes keep what they count, so that any of them can tell all.

They lie in memory where that can be had. Those of a worker that ended are added up in one file:
else each start of a worker would leave some for ever.
"""

from __future__ import annotations

import errno
import fcntl
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Final

from drawmark.web.settings import SettingError

VARIABLE: Final = "PROMETHEUS_MULTIPROC_DIR"
"""Where prometheus-client looks for the directory."""
_MEMORY: Final = "/dev/shm"
_KINDS: Final = ("counter", "histogram")
_GONE: Final = "gone"
_LOCK: Final = "lock"
_ALIVE: Final = "alive"
_PREFIX: Final = "drawmark-metrics-"


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
        If there is nowhere to write, or another service counts there.
    """
    named = os.environ.get(VARIABLE)
    first = os.getpid()
    try:
        directory = named or _make_new()
        os.makedirs(directory, mode=0o700, exist_ok=True)
        alive = _claim(directory)
        _wipe(directory)
        Path(directory, _LOCK).touch()
    except OSError as error:
        where = f"{VARIABLE} {named}" if named else "a temporary directory"
        why = "another service counts there" if error.errno == errno.EAGAIN else error.strerror
        raise SettingError(f"{where} cannot be used: {why}") from error
    os.environ[VARIABLE] = directory
    try:
        yield directory
    finally:
        # The other processes, which were forked off in between, leave by here too.
        if os.getpid() == first:
            _wipe(directory)
            for name in (_LOCK, _ALIVE):
                Path(directory, name).unlink(missing_ok=True)
            if not named:
                with suppress(OSError):
                    os.rmdir(directory)
        alive.close()


def _make_new() -> str:
    parent = _MEMORY if os.access(_MEMORY, os.W_OK | os.X_OK) else tempfile.gettempdir()
    _sweep(parent)
    return tempfile.mkdtemp(prefix=_PREFIX, dir=parent)


def _claim(directory: str) -> IO[bytes]:
    """Hold a file for as long as any process of this service lives; BlockingIOError if held."""
    alive = open(Path(directory, _ALIVE), "wb")  # noqa: SIM115 - whoever claims it closes it
    try:
        fcntl.flock(alive, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        alive.close()
        raise
    return alive


def _sweep(parent: str) -> None:
    """Remove the directories of services that were killed and could not do so themselves."""
    for directory in Path(parent).glob(f"{_PREFIX}*"):
        with suppress(OSError):
            if directory.stat().st_uid == os.getuid() and (directory / _ALIVE).exists():
                with _claim(str(directory)):
                    shutil.rmtree(directory)


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
            try:
                values = list(MmapedDict.read_all_values_from_file(ended))  # type: ignore[no-untyped-call]
            finally:
                # One that cannot be read would spoil all that is told from now on.
                ended.unlink()
            sums = MmapedDict(str(Path(directory, f"{kind}_{_GONE}.db")))  # type: ignore[no-untyped-call]
            for key, value, _, _ in values:
                before, _ = sums.read_value(key)  # type: ignore[no-untyped-call]
                sums.write_value(key, before + value, 0.0)  # type: ignore[no-untyped-call]
            sums.close()  # type: ignore[no-untyped-call]


@contextmanager
def _locked(directory: str, how: int) -> Iterator[None]:
    with open(Path(directory, _LOCK), "rb") as file:
        fcntl.flock(file, how)
        yield
