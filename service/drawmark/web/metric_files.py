"""The files in which worker processes share their counts.

They are kept in memory where possible. The files of workers that ended are merged into one; if not,
each start of a worker would leave some behind for ever.
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
"""Names the directory for prometheus-client."""
MEMORY: Final = "/dev/shm"
_KINDS: Final = ("counter", "histogram")
_ENDED: Final = "gone"
_LOCK: Final = "lock"
_ALIVE: Final = "alive"
_PREFIX: Final = "drawmark-metrics-"


@contextmanager
def shared_directory(memory: str = MEMORY) -> Iterator[str]:
    """Keep an empty directory, named in the environment, until the first process ends."""
    named = os.environ.get(VARIABLE)
    first = os.getpid()
    try:
        directory = named or _make_directory(memory)
        os.makedirs(directory, mode=0o700, exist_ok=True)
        alive = _claim(directory)
        _wipe(directory)
        Path(directory, _LOCK).touch()
    except OSError as error:
        where = f"{VARIABLE} {named}" if named else "a temporary directory"
        why = "another service uses it" if error.errno == errno.EAGAIN else error.strerror
        raise SettingError(f"{where} cannot be used: {why}") from error
    os.environ[VARIABLE] = directory
    try:
        yield directory
    finally:
        # Workers were forked in between and leave by here too; only the first process cleans up.
        if os.getpid() == first:
            _wipe(directory)
            for name in (_LOCK, _ALIVE):
                Path(directory, name).unlink(missing_ok=True)
            if not named:
                with suppress(OSError):
                    os.rmdir(directory)
        alive.close()


def _make_directory(memory: str) -> str:
    parent = memory if os.access(memory, os.W_OK | os.X_OK) else tempfile.gettempdir()
    _sweep(parent)
    return tempfile.mkdtemp(prefix=_PREFIX, dir=parent)


def _claim(directory: str) -> IO[bytes]:
    """Lock a file while any process of this service lives; BlockingIOError if it is locked."""
    alive = open(Path(directory, _ALIVE), "wb")  # noqa: SIM115 - the caller closes it
    try:
        fcntl.flock(alive, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        alive.close()
        raise
    return alive


def _sweep(parent: str) -> None:
    """Remove the directories of services that were killed."""
    for directory in Path(parent).glob(f"{_PREFIX}*"):
        with suppress(OSError):
            if directory.stat().st_uid == os.getuid() and (directory / _ALIVE).exists():
                with _claim(str(directory)):
                    shutil.rmtree(directory)


def _wipe(directory: str) -> None:
    """Remove the counts, and nothing else."""
    for file in Path(directory).glob("*.db"):
        file.unlink(missing_ok=True)


@contextmanager
def reading(directory: str) -> Iterator[None]:
    """Hold off merges while the files are read."""
    with _locked(directory, fcntl.LOCK_SH):
        yield


def merge(directory: str, process: int) -> None:
    """Merge the files of a process that has ended into those of all that have."""
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
                # A file that cannot be read would make every later reading fail.
                ended.unlink()
            sums = MmapedDict(str(Path(directory, f"{kind}_{_ENDED}.db")))  # type: ignore[no-untyped-call]
            for key, value, _, _ in values:
                before, _ = sums.read_value(key)  # type: ignore[no-untyped-call]
                sums.write_value(key, before + value, 0.0)  # type: ignore[no-untyped-call]
            sums.close()  # type: ignore[no-untyped-call]


@contextmanager
def _locked(directory: str, how: int) -> Iterator[None]:
    with open(Path(directory, _LOCK), "rb") as file:
        fcntl.flock(file, how)
        yield
