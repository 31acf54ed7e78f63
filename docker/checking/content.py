"""What stands in the image, file by file: the base, the service, and nothing else."""

import hashlib
import os
import re
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from checking.host import Host
from checking.image import BASE
from checking.outcome import require

OWN = PurePosixPath("/opt/drawmark")
BILL = OWN / "sbom.cdx.json"
UNWANTED = {".cache", "cyclonedx_py", "pip", "pytest", "setuptools", "tests", "wheel"}
COMPILERS = {"cc", "gcc", "make"}
SPARE = 1.1
"""How much larger than README.md says the image may be."""

Tree = dict[PurePosixPath, tuple[str, int, int, int, str]]
"""Each path with its mode, owner, group, size and content; times do not count."""


@contextmanager
def mounted(host: Host, image: str) -> Iterator[Path]:
    """Give the folder in which the files of an image can be read."""
    folder = Path(host.podman("image", "mount", image).strip())
    try:
        yield folder
    finally:
        host.podman("image", "unmount", image)


def read_tree(root: Path) -> Tree:
    """Give all that stands in a folder."""
    tree = {}
    for folder, folders, files in os.walk(root):
        for path in (Path(folder, name) for name in (*folders, *files)):
            status = path.lstat()
            content, size = "", 0
            if stat.S_ISLNK(status.st_mode):
                content = str(path.readlink())
            elif stat.S_ISREG(status.st_mode):
                size = status.st_size
                with path.open("rb") as file:
                    content = hashlib.file_digest(file, "sha256").hexdigest()
            mode = stat.filemode(status.st_mode)
            inside = PurePosixPath("/", path.relative_to(root))
            tree[inside] = (mode, status.st_uid, status.st_gid, size, content)
    return tree


def read_image(host: Host, image: str, part: str = "") -> Tree:
    """Give all that stands in an image, or in one of its folders."""
    with mounted(host, image) as folder:
        return read_tree(folder / part)


def check_content(host: Host, tree: Tree, top: Path) -> str:
    """Require that the image holds its base, the service and no more than README.md says."""
    check_base(tree, read_image(host, BASE))
    check_needed(tree)
    return f"adds {check_size(tree, (top / 'docker' / 'README.md').read_text())} to its base"


def check_base(tree: Tree, base: Tree) -> None:
    """Require that the build left nothing but the service's folder: no cache, no certificate."""
    _require_same(tree, base, lambda path: path != OWN and OWN not in path.parents)


def check_needed(tree: Tree) -> None:
    """Require no caches, nothing that only builds or tests."""
    found = sorted(
        str(path)
        for path in tree
        if (OWN in path.parents and path.name in UNWANTED)
        or (path.parent.name == "bin" and path.name in COMPILERS)
    )
    require(not found, f"holds what no service needs: {', '.join(found[:5])}")


def check_size(tree: Tree, readme: str) -> str:
    """Require that the service's folder is hardly larger than README.md says."""
    (stated,) = map(int, re.findall(r"adds (\d+) MB to its base", readme))
    size = sum(entry[3] for path, entry in tree.items() if OWN in path.parents) / 1e6
    require(size <= SPARE * stated, f"adds {size:.0f} MB to its base, not {stated}")
    return f"{size:.0f} MB"


def read_bill(host: Host, image: str) -> str:
    """Give the bill of materials in an image."""
    with mounted(host, image) as folder:
        return (folder / BILL.relative_to("/")).read_text()


def check_same(tree: Tree, again: Tree, extra: str) -> str:
    """Require that another build gave the same files, but for those of an extra distribution."""
    name = extra.replace("-", "_")
    own = re.compile(rf"/site-packages/(__pycache__/$|(__pycache__/)?{name}[./-])")
    _require_same(tree, again, lambda path: path != BILL and not own.search(f"{path}/"))
    return f"{len(tree)} files and folders alike"


def _require_same(one: Tree, other: Tree, compared: Callable[[PurePosixPath], bool]) -> None:
    paths = filter(compared, one.keys() | other.keys())
    differ = sorted(str(path) for path in paths if one.get(path) != other.get(path))
    require(not differ, f"{len(differ)} files differ: {', '.join(differ[:5])}")
