"""Record what the service answers to the corpus, and compare two records.

Usage, in the folder `tests`:

    python -m corpus.record RECORD           write a record, with full texts
    python -m corpus.record OLD NEW          compare two records, texts of messages aside
    python -m corpus.record --exact OLD NEW  compare them to the byte
    python -m corpus.record --keep           keep the record that the test compares with
"""

from __future__ import annotations

import argparse
import csv
import io
import json
import lzma
import operator
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

from corpus.asked import Asked, all_requests
from drawmark.rules import registry
from drawmark.web import create_app
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import installed_rules

HERE = Path(__file__).parent
CLUB = HERE / "club.toml"
PLUGINS = ("core", "clicker-clearance", "club-minimums")
"""Whose rules are asked, whatever else is installed."""
KEPT = HERE / "answers.ndjson.xz"
TEXT = "…"

Answer = dict[str, Any]


def ask_all(requests: Iterable[Asked]) -> Iterator[Answer]:
    """Answer each request in this process, under the corpus' own club file."""
    found = tuple(map(registry.load().find, PLUGINS))
    assert all(one is not None and one.status == "active" for one in found), found
    rules = installed_rules(str(CLUB), registry.Registry(plugins=found))
    client = create_app(Settings(log_requests=False), rules).test_client()
    for asked in requests:
        response = client.open(
            asked.path, method=asked.method, data=asked.body, headers=asked.headers
        )
        yield {
            "group": asked.group,
            "request": (asked.body or b"").decode(errors="replace")[:4000],
            "status": response.status_code,
            "type": response.mimetype,
            "body": response.get_data().decode(),
        }


def without_texts(answer: Answer) -> Answer:
    """An answer without its sentences: every text that has a space in it."""
    kind, body = answer["type"], answer["body"]
    if "request" not in answer:
        return answer  # kept without them
    if kind == "application/x-ndjson":
        read: Any = [masked(json.loads(line)) for line in body.splitlines()]
    elif kind.endswith("json"):
        read = masked(json.loads(body))
    elif kind == "text/csv":
        read = masked_sheet(body)
    else:
        read = body
    return {"group": answer["group"], "status": answer["status"], "type": kind, "body": read}


def masked_sheet(body: str) -> list[list[str]]:
    """Rows of a sheet, without the sentences in its cells."""
    return [masked(row) for row in csv.reader(io.StringIO(body))]


def masked(tree: Any) -> Any:
    if isinstance(tree, dict):
        return {name: masked(below) for name, below in tree.items()}
    if isinstance(tree, list):
        return [masked(below) for below in tree]
    return TEXT if isinstance(tree, str) and " " in tree else tree


def write(path: Path, answers: Iterable[Answer]) -> None:
    with lzma.open(path, "wt", encoding="utf-8") as file:
        for answer in answers:
            file.write(json.dumps(answer, ensure_ascii=False, separators=(",", ":")) + "\n")


def read(path: Path) -> list[Answer]:
    with lzma.open(path, "rt", encoding="utf-8") as file:
        return [json.loads(line) for line in file]


def differences(
    old: Any, new: Any, way: str = "", alike: Callable[[Any, Any], bool] = operator.eq
) -> Iterator[str]:
    """Say where two trees differ; `alike` tells which leaves count as the same."""
    if isinstance(old, dict) and isinstance(new, dict):
        if list(old) != list(new):
            yield f"{way}: members {list(old)} became {list(new)}"
        for name in old.keys() & new.keys():
            yield from differences(old[name], new[name], f"{way}/{name}", alike)
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for index, pair in enumerate(zip(old, new, strict=True)):
            yield from differences(*pair, f"{way}/{index}", alike)
    elif not alike(old, new):
        yield f"{way}: {json.dumps(old)[:300]} became {json.dumps(new)[:300]}"


def compare(old: list[Answer], new: list[Answer], exact: bool) -> int:
    """Print the differences of two records, and count the answers that have any."""
    if len(old) != len(new):
        print(f"{len(old)} answers became {len(new)}")
        return 1
    changed: Counter[str] = Counter()
    for number, (one, other) in enumerate(zip(old, new, strict=True)):
        if exact:
            found = list(differences(one, other))
        else:
            found = list(differences(without_texts(one), without_texts(other)))
        if found:
            changed[one["group"]] += 1
            if changed[one["group"]] <= 3:
                print(f"\n{one['group']}, request {number}: {other['request'][:1500]}")
                print("\n".join(f"  {line}" for line in found[:8]))
    print(f"\n{changed.total()} of {len(old)} answers differ: {dict(changed)}")
    return changed.total()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--exact", action="store_true")
    parser.add_argument("--keep", action="store_true")
    parser.add_argument("records", nargs="*", type=Path)
    given = parser.parse_args()
    if given.keep:
        write(KEPT, map(without_texts, ask_all(all_requests())))
        return 0
    if len(given.records) == 1:
        write(given.records[0], ask_all(all_requests()))
        return 0
    old, new = map(read, given.records)
    return 1 if compare(old, new, given.exact) else 0


if __name__ == "__main__":
    sys.exit(main())
