"""The bill of materials in the image, and the licence of each thing in it."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from checking.content import BILL, Tree, read_bill
from checking.host import Host
from checking.outcome import require

Bill = dict[str, Any]
ALLOWED = {
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSD-3-Clause-Open-MPI",
    "CC0-1.0",
    "GPL-3.0-or-later WITH GCC-exception-3.1",
    "LGPL-2.1-or-later",
    "MIT",
    "MPL-2.0",
    "PSF-2.0",
    "Zlib",
}
"""Licences under which a club may run, change and pass on the image; the two of GNU are those of
libraries that are loaded beside the service."""

VAGUE = "BSD License"
"""What some packages state: a family of licences, of which their text is one."""


def check_listed(host: Host, image: str, tree: Tree, top: Path) -> str:
    """Require that all in an image is in its bill of materials and in licences.md."""
    bill = json.loads(read_bill(host, image))
    check_licences(tree, bill, (top / "docker" / "licences.md").read_text())
    return check_bill(tree, bill)


def check_bill(tree: Tree, bill: Bill) -> str:
    """Require that the bill lists what is installed, in its versions, and nothing else."""
    installed = {
        (_normalise(found[1]), found[2])
        for path in tree
        if (found := re.search(r"/site-packages/([^/]+)-([^/-]+)\.dist-info$", str(path)))
    }
    listed = {(_normalise(one["name"]), one["version"]) for one in bill["components"]}
    differ = sorted(" ".join(one) for one in installed ^ listed)
    require(not differ, f"{BILL.name} and the image differ: {', '.join(differ)}")
    timeless = "timestamp" not in bill["metadata"] and "serialNumber" not in bill
    require(timeless, f"{BILL.name} is another in every build")
    return f"CycloneDX {bill['specVersion']}, {len(listed)} packages"


def read_rows(page: str) -> dict[str, str]:
    """Give what licences.md lists: packages and libraries, each with its licence."""
    rows = re.findall(r"^\| ([a-z][\w-]*) \| ([^|]+) \|$", page, re.MULTILINE)
    return {name: licence for name, licence in rows if licence != "licence"}


def check_licences(tree: Tree, bill: Bill, page: str) -> None:
    """Require that licences.md gives each licence as the package does, and that all are allowed."""
    rows = read_rows(page)
    held = {
        found[1] for path in tree if (found := re.search(r"\.libs/(lib[a-z_]*[a-z])", str(path)))
    }
    for one in bill["components"]:
        name = _normalise(one["name"])
        if name.startswith("drawmark"):
            rows[name] = "MIT"
        held.add(name)
        stated, row = list(_stated(one)), rows.get(name, "")
        vague = row.startswith("BSD-") and any(VAGUE in licence for licence in stated)
        told = f"{name} is under {', '.join(stated)}, in licences.md under {row or 'none'}"
        require(row in stated or vague, told)
    differ = sorted(held ^ rows.keys())
    require(not differ, f"in the image or in licences.md, not in both: {', '.join(differ)}")
    for name, licence in rows.items():
        refused = set(re.split(" AND | OR ", licence)) - ALLOWED
        require(not refused, f"{name}: {', '.join(sorted(refused))} is not an allowed licence")


def _normalise(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def _stated(component: Bill) -> Iterator[str]:
    for one in component.get("licenses", ()):
        yield one.get("expression") or one["license"].get("id") or one["license"]["name"]
