"""The directory in which processes count: made, emptied, added up, removed."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from prometheus_client.mmap_dict import MmapedDict, mmap_key

from drawmark.web.metric_files import VARIABLE, merge, shared_directory
from drawmark.web.settings import SettingError

HITS = mmap_key("hits", "hits_total", [], [], "Hits.")
MISSES = mmap_key("misses", "misses_total", [], [], "Misses.")


@pytest.fixture(autouse=True)
def environment(monkeypatch):
    # Set and taken away again: whatever a test names in the environment ends with it.
    monkeypatch.setenv(VARIABLE, "")
    monkeypatch.delenv(VARIABLE)
    return monkeypatch


def write(path, **values):
    file = MmapedDict(str(path))
    for name, value in values.items():
        file.write_value({"hits": HITS, "misses": MISSES}[name], value, 0.0)
    file.close()


def read(path):
    return {key: value for key, value, _, _ in MmapedDict.read_all_values_from_file(str(path))}


def test_a_new_directory_goes_with_the_process():
    with shared_directory() as directory:
        assert os.environ[VARIABLE] == directory
        assert os.stat(directory).st_mode & 0o077 == 0
        write(Path(directory, "counter_1.db"), hits=1)
    assert not Path(directory).exists()


def test_it_is_in_memory_where_that_can_be_had(environment, tmp_path):
    memory, files = tmp_path / "memory", tmp_path / "files"
    files.mkdir()
    environment.setattr(tempfile, "tempdir", str(files))
    with shared_directory(str(memory)) as directory:
        assert Path(directory).parent == files
    memory.mkdir()
    environment.delenv(VARIABLE)
    with shared_directory(str(memory)) as directory:
        assert Path(directory).parent == memory


def test_a_named_one_is_emptied_of_counts_and_stays(environment, tmp_path):
    environment.setenv(VARIABLE, str(tmp_path / "counts"))
    for _ in range(2):
        with shared_directory() as directory:
            assert directory == str(tmp_path / "counts")
            assert not list(Path(directory).glob("*.db"))
            write(Path(directory, "counter_1.db"), hits=1)
            Path(directory, "theirs").touch()
    assert [one.name for one in Path(directory).iterdir()] == ["theirs"]


def test_nowhere_to_write_is_one_line(environment, tmp_path):
    (tmp_path / "file").touch()
    environment.setenv(VARIABLE, str(tmp_path / "file" / "counts"))
    with pytest.raises(SettingError, match=rf"^{VARIABLE} \S+ cannot be used: "):
        shared_directory().__enter__()


def test_two_services_do_not_share_one(environment, tmp_path):
    environment.setenv(VARIABLE, str(tmp_path))
    with shared_directory():
        write(tmp_path / "counter_1.db", hits=1)
        with pytest.raises(SettingError, match="another service uses it"):
            shared_directory().__enter__()
        assert (tmp_path / "counter_1.db").exists()


def test_what_a_killed_service_left_is_removed(environment, tmp_path):
    left, making = tmp_path / "drawmark-metrics-left", tmp_path / "drawmark-metrics-making"
    for directory in (left, making, tmp_path / "drawmark-check"):
        directory.mkdir()
        write(directory / "counter_1.db", hits=1)
    (left / "alive").touch()
    memory = str(tmp_path)
    with shared_directory(memory) as one:
        environment.delenv(VARIABLE)
        with shared_directory(memory) as other:
            found = {str(directory) for directory in tmp_path.iterdir()}
    assert found == {one, other, str(making), str(tmp_path / "drawmark-check")}


FORKED = """
import os, sys
from pathlib import Path
from drawmark.web.metric_files import shared_directory

with shared_directory() as directory:
    child = os.fork()
    if child == 0:
        sys.exit(0)
    os.waitpid(child, 0)
    print(Path(directory).exists())
print(Path(directory).exists())
"""


def test_another_process_that_leaves_removes_nothing():
    done = subprocess.run(
        [sys.executable, "-c", FORKED], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.split() == ["True", "False"]


def test_those_that_ended_are_added_up(tmp_path):
    (tmp_path / "lock").touch()
    write(tmp_path / "counter_11.db", hits=1, misses=2)
    write(tmp_path / "counter_12.db", hits=10)
    write(tmp_path / "counter_13.db", hits=100)
    write(tmp_path / "gauge_livemax_11.db", hits=1)
    merge(str(tmp_path), 11)
    merge(str(tmp_path), 12)
    merge(str(tmp_path), 14)
    assert read(tmp_path / "counter_gone.db") == {HITS: 11, MISSES: 2}
    assert sorted(one.name for one in tmp_path.glob("*.db")) == [
        "counter_13.db",
        "counter_gone.db",
    ]
