"""The checks of what stands in the image, on small trees."""

from collections.abc import Callable
from pathlib import Path, PurePosixPath

import pytest
from checking import content
from checking.outcome import CheckError

SITE = "/opt/drawmark/lib/python3.13/site-packages"
FILE = ("-rw-r--r--", 0, 0, 2_000_000, "bow")


def tree(*paths: str) -> content.Tree:
    return {PurePosixPath(path): FILE for path in paths}


BASE = tree("/etc/hosts", "/usr/bin/python")
IMAGE = BASE | tree(f"{SITE}/flask/app.py", f"{SITE}/drawmark/cli.py", str(content.BILL))
OTHER_OWNER = {PurePosixPath("/etc/hosts"): (*FILE[:1], 10001, *FILE[2:])}
OTHER_MODE = {PurePosixPath(f"{SITE}/flask/app.py"): ("-rwxr-xr-x", *FILE[1:])}
OTHER_CONTENT = {PurePosixPath(f"{SITE}/flask/app.py"): (*FILE[:4], "nock")}
PLUGIN = tree(
    f"{SITE}/drawmark_rest.py",
    f"{SITE}/drawmark_rest-1.0.dist-info",
    f"{SITE}/__pycache__",
    f"{SITE}/__pycache__/drawmark_rest.cpython-313.pyc",
)


@pytest.mark.parametrize(
    ("check", "fault"),
    [
        (lambda: content.check_base(IMAGE, BASE), None),
        (lambda: content.check_base(IMAGE | tree("/root/.cache/a"), BASE), "/root/.cache/a"),
        (lambda: content.check_base(IMAGE, BASE | tree("/etc/passwd")), "/etc/passwd"),
        (lambda: content.check_base(IMAGE | OTHER_OWNER, BASE), "/etc/hosts"),
        (lambda: content.check_needed(IMAGE), None),
        (lambda: content.check_needed(IMAGE | tree(f"{SITE}/pip")), f"{SITE}/pip"),
        (lambda: content.check_needed(IMAGE | tree(f"{SITE}/flask/tests")), f"{SITE}/flask/tests"),
        (lambda: content.check_needed(IMAGE | tree("/opt/drawmark/.cache")), ".cache"),
        (lambda: content.check_needed(IMAGE | tree("/usr/bin/gcc")), "/usr/bin/gcc"),
        (lambda: content.check_size(IMAGE, "adds 6 MB to its base"), None),
        (lambda: content.check_size(IMAGE, "adds 5 MB to its base"), "adds 6 MB"),
        (lambda: content.check_same(IMAGE, IMAGE | PLUGIN, "drawmark-rest"), None),
        (lambda: content.check_same(IMAGE, IMAGE | PLUGIN, "drawmark-nock"), "drawmark_rest.py"),
        (lambda: content.check_same(IMAGE, IMAGE | OTHER_MODE, "drawmark-rest"), "flask/app.py"),
        (lambda: content.check_same(IMAGE, IMAGE | OTHER_CONTENT, "drawmark-rest"), "flask/app.py"),
        (lambda: content.check_same(IMAGE, BASE, "drawmark-rest"), "flask/app.py"),
    ],
)
def test_what_stands_in_an_image(check: Callable[[], object], fault: str | None) -> None:
    if fault is None:
        check()
    else:
        with pytest.raises(CheckError, match=fault):
            check()


def test_a_tree_is_read_with_modes_owners_and_content(tmp_path: Path) -> None:
    (tmp_path / "bin").mkdir(mode=0o755)
    file = tmp_path / "bin" / "bow"
    file.write_text("bow")
    file.chmod(0o750)
    (tmp_path / "bin" / "link").symlink_to("bow")
    found = content.read_tree(tmp_path)
    owner = (file.stat().st_uid, file.stat().st_gid)
    assert found.keys() == {PurePosixPath(one) for one in ("/bin", "/bin/bow", "/bin/link")}
    assert found[PurePosixPath("/bin")] == ("drwxr-xr-x", *owner, 0, "")
    assert found[PurePosixPath("/bin/bow")][:4] == ("-rwxr-x---", *owner, 3)
    assert found[PurePosixPath("/bin/link")] == ("lrwxrwxrwx", *owner, 0, "bow")
    file.write_text("nock")
    changed = content.read_tree(tmp_path)
    assert changed[PurePosixPath("/bin/bow")] != found[PurePosixPath("/bin/bow")]
