"""Bodies that once ended workers: each must be refused, and nobody else may notice."""

import json
from collections.abc import Callable, Iterator, Mapping
from http.client import HTTPConnection
from itertools import product
from random import Random

from checking.container import Container
from checking.outcome import require
from checking.service import Load

LISTS = {
    "v1/fit-check": ('{"archer":{"draws":%s}}', '{"arrow":{"shaft":{"stations":%s}}}'),
    "v1/minimum-length": ('{"archer":{"draws":%s}}',),
    "v1/recommended-length": ('{"archer":{"draws":%s}}',),
    "v1/longest-draw": ('{"arrow":{"shaft":{"stations":%s}}}',),
    "v1/spine": ('{"arrow":{"shaft":{"stations":%s}}}', '{"available_points":%s}'),
    "v1/replacement": (
        '{"candidates":%s}',
        '{"candidates":[{"shaft":{"stations":%s}}]}',
        '{"candidates":[{"available_points":%s}]}',
    ),
    "v1/balance": ('{"arrow":{"shaft":{"stations":%s}}}',),
    "v1/clicker": ('{"archer":{"draws":%s}}',),
    "v1/cut-plan": ('{"shots":%s}',),
    "v1/order": ('{"sets":%s}', '{"sets":[{"archer":{"draws":%s}}]}'),
    "v1/delivery": ('{"sets":%s}', '{"sets":[{"arrived":%s}]}'),
    "v1/kit/assignments": ('{"archers":%s}', '{"sets":%s}'),
    "v1/kit/labels": ('{"sets":%s}', '{"sets":[{"arrow":{"shaft":{"stations":%s}}}]}'),
    "v1/kit/lengths": ('{"archers":%s}',),
    "v1/kit/consistency": ('{"arrows":%s}',),
    "v1/kit/sets": ('{"arrows":%s}',),
    "v1/fit-check/batch": ('{"items":{"a":%s}}', '{"more":%s}'),
}
SIZES = (60_000, 3_000_000, 15_000_000)
PIECES = ("1", "{}", "[]")


def bad_bodies(sample: bool) -> Iterator[tuple[str, bytes]]:
    """Give paths, and long lists of what does not belong in them; a sample has each size once."""
    chance = Random(1)
    for path, size in product(LISTS, SIZES):
        kinds = list(product(LISTS[path], PIECES))
        for template, piece in chance.sample(kinds, 1) if sample else kinds:
            items = ",".join([piece] * (size // (len(piece) + 1)))
            yield path, (template % f"[{items}]").encode()


def check_bad_bodies(
    dial: Callable[[], HTTPConnection],
    services: list[Container],
    headers: Mapping[str, str],
    *,
    sample: bool = False,
) -> str:
    """Require that each is refused with a problem, while no worker ends and no caller fails."""
    before = [one.children for one in services]
    load = Load(dial, headers=headers)
    count = 0
    try:
        for path, body in bad_bodies(sample):
            caller = dial()
            fields = {"Content-Type": "application/json", **headers}
            caller.request("POST", f"/{path}", body, fields)
            answer = caller.getresponse()
            text = answer.read()
            caller.close()
            allowed = (400, 413, 422)
            require(answer.status in allowed, f"{path}: {answer.status} for {body[:60]!r}")
            require(json.loads(text)["status"] == answer.status, f"{path}: not a problem")
            count += 1
    finally:
        load.end()
    bad = sorted({outcome for _, outcome in load.outcomes} - {"answered"})
    require(not bad, f"another request was {', '.join(bad)}")
    after = [one.children for one in services]
    require(before == after, f"workers ended: {before} became {after}")
    return f"{count} bad bodies refused beside {len(load.outcomes)} answers"
