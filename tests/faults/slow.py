"""A rule that makes a batch of long arrows last, and says which worker is at it."""

import json
from pathlib import Path

from builders.wire import q
from servers import FIT_CHECK, install

SOURCE = """
import os, time
from drawmark import rules

def check(case):
    if case.arrow.length < 0.7:
        return ()
    with open({mark!r}, "w") as file:
        file.write(str(os.getpid()))
    time.sleep(0.05)
    return ()

@rules.hookimpl
def drawmark_rules():
    return [rules.Rule(id="slow", title="Takes its time.", check=check)]
"""
ITEMS = 40
"""Two seconds of them."""
QUICK = json.loads(FIT_CHECK)
SLOW = {**QUICK, "arrow": {"length": q(30)}}
BATCH = json.dumps({"items": [SLOW] * ITEMS}).encode()
BLOCK = 4000
"""Lines of a stream that are answered together."""
LINES = b"".join(json.dumps(each).encode() + b"\n" for each in [QUICK] * BLOCK + [SLOW] * ITEMS)
PATH = "/v1/fit-check/batch"


class SlowRule:
    """The rule, installed into a folder."""

    def __init__(self, folder: Path) -> None:
        self.mark = folder / "worker"
        plugins = folder / "plugins"
        plugins.mkdir()
        self.environment = install(plugins, "slow", SOURCE.format(mark=str(self.mark)))

    @property
    def worker(self) -> int:
        """The process that last began to check an item; 0 before the first."""
        try:
            return int(self.mark.read_text())
        except (FileNotFoundError, ValueError):
            return 0
