"""A drawing against the JSON of the same request, in processor time of the worker.

cd tests && python -m benchmarks.drawing_cost
"""

from __future__ import annotations

import json
import statistics
import sys
import tempfile
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path

from benchmarks.http_ratio import processor_time
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.accept import DRAWN, JSON, SVG
from servers import running, service

ROUNDS = 9
REQUESTS = 400


def measure(
    paths: list[str], rounds: int = ROUNDS, requests: int = REQUESTS
) -> dict[str, tuple[float, float]]:
    """Median time of the drawing over that of the JSON, and of the JSON in microseconds."""
    with (
        tempfile.TemporaryDirectory() as folder,
        running(service(Path(folder), WEB_CONCURRENCY="1")) as process,
        closing(HTTPConnection("127.0.0.1", process.port)) as caller,
    ):
        (worker,) = process.children

        def spent(path: str, kind: str, calls: int) -> float:
            body, headers = json.dumps(EXAMPLES[path]), {"Accept": kind}
            headers["Content-Type"] = JSON
            before = processor_time(worker)
            for _ in range(calls):
                caller.request("POST", f"/v1/{path}", body, headers)
                assert caller.getresponse().read()
            return (processor_time(worker) - before) / calls

        found = {}
        for path in paths:
            calls = requests if path == "fit-check" else requests // 10
            for kind in (JSON, SVG):
                spent(path, kind, 20)
            pairs = [(spent(path, JSON, calls), spent(path, SVG, calls)) for _ in range(rounds)]
            found[path] = (
                statistics.median(drawn / plain for plain, drawn in pairs),
                statistics.median(plain for plain, _ in pairs) * 1e6,
            )
        return found


if __name__ == "__main__":
    drawn = [path for path, kinds in DRAWN.items() if SVG in kinds]
    for path, (ratio, plain) in measure(sys.argv[1:] or drawn).items():
        print(f"{path:12} JSON {plain:7.0f} us, drawing {ratio:.2f} times that")
