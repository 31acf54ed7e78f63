"""No folder can take the counts, or a request, away: they are in memory of the processes alone."""

import os
import shutil
import signal
from contextlib import suppress
from pathlib import Path

import pytest
from prometheus_client.parser import text_string_to_metric_families

from servers import Process, ask, needs_proc, running, service, wait_for

MEMORY = "/dev/shm"
BROKEN = {
    "full": f"mount -t tmpfs -o size=64k none {MEMORY}; head -c 64k /dev/zero >{MEMORY}/full",
    "read-only": f"mount -t tmpfs -o ro none {MEMORY}",
    "gone": f"mount -t tmpfs -o mode=000,nr_inodes=1 none {MEMORY}",
}


def counted(port: int) -> float:
    """Fit checks that were answered, as any worker tells."""
    status, text = ask(port, "/metrics", None)
    assert status == 200
    samples = (
        sample
        for family in text_string_to_metric_families(text.decode())
        for sample in family.samples
    )
    wanted = {"route": "/v1/fit-check", "method": "POST", "status": "200"}
    return sum(one.value for one in samples if one.labels == wanted)


def replace_workers(process: Process) -> None:
    for victim in sorted(process.children):
        os.kill(victim, signal.SIGKILL)
        wait_for(lambda gone=victim: gone not in process.children)
        wait_for(lambda: len(process.children) == 2)


@pytest.mark.long
@needs_proc
@pytest.mark.skipif(
    os.geteuid() != 0 or shutil.which("unshare") is None, reason="mounts a folder of its own"
)
@pytest.mark.parametrize("how", BROKEN)
def test_a_memory_disk_that_fails_costs_no_request_and_no_count(tmp_path: Path, how: str) -> None:
    process = service(tmp_path, WEB_CONCURRENCY="2")
    # The mounts are seen by this service alone.
    breaks = f'{BROKEN[how]}; exec "$@"'
    process.command = ["unshare", "--mount", "sh", "-c", breaks, "sh", *process.command]
    with running(process):
        wait_for(lambda: len(process.children) == 2)
        assert [ask(process.port)[0] for _ in range(10)] == [200] * 10
        replace_workers(process)
        assert [ask(process.port)[0] for _ in range(10)] == [200] * 10
        assert {counted(process.port) for _ in range(6)} == {20}


@needs_proc
def test_nothing_is_kept_in_a_folder(service: Process) -> None:
    for worker in (service.first, *service.children):
        maps = Path(f"/proc/{worker}/maps").read_text()
        files = []
        for one in Path(f"/proc/{worker}/fd").iterdir():
            # It may be closed by now.
            with suppress(FileNotFoundError):
                files.append(os.readlink(one))
        assert MEMORY not in maps
        assert [one for one in files if one.startswith(MEMORY) or "wgunicorn" in one] == []
