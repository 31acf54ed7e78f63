"""One fit check against a constant view with the same hooks, in processor time of the worker.

Run: python tests/benchmarks/http_ratio.py
"""

from __future__ import annotations

import json
import os
import socket
import statistics
import subprocess
import sys
import time

import requests

from drawmark.web.examples import EXAMPLES

ROUNDS = 7
REQUESTS = 400
APPLICATION = """
import json, sys
from flask import Flask, Response, request
from drawmark.web import create_app
from drawmark.web.examples import EXAMPLES
from drawmark.web.calculations import operations_of
from drawmark.web.installed import core_rules
from drawmark.web.server import Server
from drawmark.web.settings import Settings

class Measured(Server):
    def load(self):
        app = create_app(Settings(), core_rules() if sys.argv[2] == "core" else None)
        body = app.test_client().post("/v1/fit-check", json=EXAMPLES["fit-check"]).data
        def constant():
            request.get_data(cache=False)
            return Response(body, mimetype="application/json")
        operation = [one for one in operations_of(core_rules()) if one.path == "fit-check"][0]
        def nested():
            body = request.get_data(cache=False)
            operation.schema().load(json.loads(body))
            tree = operation.calculate(body)
            answer = json.dumps(tree, default=lambda raw: json.loads(bytes(raw)))
            return Response(answer, mimetype="application/json")
        app._got_first_request = False
        app.add_url_rule("/nested", "nested", nested, methods=["POST"])
        app.add_url_rule("/constant", "constant", constant, methods=["POST"])
        bare = Flask("bare")
        bare.add_url_rule("/bare", "bare", constant, methods=["POST"])
        def both(environ, start_response):
            chosen = bare if environ["PATH_INFO"] == "/bare" else app
            return chosen(environ, start_response)
        return both

Measured("127.0.0.1", int(sys.argv[1]), Settings(workers=1)).run()
"""


def worker_of(parent: int) -> int:
    """The parent's only child."""
    with open(f"/proc/{parent}/task/{parent}/children", encoding="ascii") as file:
        return int(file.read().split()[0])


def resident_of(process: int) -> float:
    """Resident memory of a process in MB."""
    with open(f"/proc/{process}/status", encoding="ascii") as file:
        (line,) = (line for line in file if line.startswith("VmRSS"))
    return int(line.split()[1]) / 1024


def start_up() -> float:
    """Seconds to import and build the application in a fresh process."""
    before = time.perf_counter()
    code = "from drawmark.web import create_app; create_app()"
    subprocess.run([sys.executable, "-c", code], check=True)
    return time.perf_counter() - before


def processor_time(parent: int) -> float:
    """Processor seconds of the worker: the parent's only child."""
    with open(f"/proc/{worker_of(parent)}/stat", encoding="ascii") as file:
        fields = file.read().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def measure(rules: str) -> dict[str, float]:
    """Microseconds of processor time a request for each path, medians of interleaved rounds."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    process = subprocess.Popen([sys.executable, "-c", APPLICATION, str(port), rules])
    url = f"http://127.0.0.1:{port}"
    body = json.dumps(EXAMPLES["fit-check"])
    headers = {"Content-Type": "application/json"}
    rounds: dict[str, list[float]] = {
        "/v1/fit-check": [],
        "/constant": [],
        "/bare": [],
        "/nested": [],
    }
    try:
        for _ in range(100):
            try:
                requests.get(url + "/healthz", timeout=1)
                break
            except requests.ConnectionError:
                time.sleep(0.1)
        with requests.Session() as session:
            for number in range(ROUNDS + 1):
                for path, times in rounds.items():
                    before = processor_time(process.pid)
                    for _ in range(REQUESTS):
                        session.post(url + path, data=body, headers=headers, timeout=10)
                    if number:
                        spent = processor_time(process.pid) - before
                        times.append(spent / REQUESTS * 1e6)
        resident = resident_of(worker_of(process.pid))
    finally:
        process.terminate()
        process.wait(30)
    ratios = [c / f for c, f in zip(rounds["/constant"], rounds["/v1/fit-check"], strict=True)]
    bare = [b / f for b, f in zip(rounds["/bare"], rounds["/v1/fit-check"], strict=True)]
    return {
        "fit check, us": statistics.median(rounds["/v1/fit-check"]),
        "constant view, us": statistics.median(rounds["/constant"]),
        "rate of the constant view reached": statistics.median(ratios),
        "rate of a bare view reached": statistics.median(bare),
        "nested marshmallow besides, us": statistics.median(rounds["/nested"]),
        "worker resident, MB": resident,
    }


if __name__ == "__main__":
    print(f"{'import and start-up, s':38} {start_up():8.2f}")
    for rules in ("core", "all plugins"):
        print(rules)
        for name, figure in measure(rules).items():
            print(f"  {name:36} {figure:8.2f}")
