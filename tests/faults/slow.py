"""A rule that makes a batch last, and says which worker is at it."""

import json
from pathlib import Path

from servers import FIT_CHECK, install

SOURCE = """
import os, time
from drawmark import rules

def check(case):
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
BATCH = json.dumps({"items": [json.loads(FIT_CHECK)] * ITEMS}).encode()
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
