"""Runs the conformance kit on an installed plugin, in a process of its own, and reports."""

from __future__ import annotations

import argparse
import subprocess
import sys
from typing import Final

from drawmark.rules.conformance import CHECKS, Conformance
from drawmark.rules.model import CORE
from drawmark.rules.registry import GROUP, load

FAILED: Final = 1
LONGEST: Final = 900
"""How long the process may take [s]."""


def check_plugin(name: str, trials: int, seed: int) -> int:
    """Check a plugin in another process, which it may bring down; give the exit status."""
    command = [sys.executable, "-m", __spec__.name, name, f"--trials={trials}", f"--seed={seed}"]
    sys.stdout.flush()
    try:
        status = subprocess.run(command, timeout=LONGEST).returncode
    except subprocess.TimeoutExpired:
        print(f"\nFAILED: not done after {LONGEST} s")
        return FAILED
    if status not in (0, FAILED):
        print(f"\nFAILED: the plugin ended the process in this check, with status {status}")
    return FAILED if status else 0


def report(name: str, trials: int, seed: int) -> int:
    """Print each check with what fails, and give the exit status."""
    plugin = load().find(name)
    if plugin is None:
        installed = ", ".join(one.name for one in load().plugins if one.name != CORE) or "none"
        print(f"FAILED: {name!r} is not installed; installed plugins: {installed}")
        print(f"  its pyproject.toml needs an entry point {name} in the group {GROUP}")
        return FAILED
    if plugin.status != "active":
        print(f"FAILED: {name} {plugin.version} does not load: {plugin.error}")
        return FAILED
    print(f"{name} {plugin.version}: {', '.join(rule.id for rule in plugin.rules)}")
    for words in plugin.deprecated:
        print(f"  deprecated: {words}")
    conformance = Conformance(plugin, trials=trials, seed=seed)
    failed = 0
    for check, meaning in CHECKS.items():
        print(f"  {check}: {meaning} ... ", end="", flush=True)
        failures = conformance.failures(check)
        failed += len(failures)
        print("FAILED" if failures else "ok")
        for failure in failures:
            subject = f"rule {failure.rule}: " if failure.rule else ""
            print(f"    {subject}{failure.what}")
            if failure.case:
                print(f"      smallest case: {failure.case}")
        if failures and check in ("declarations", "speed"):
            print("  the other checks are made once that is mended")
            return FAILED
    silent = [rule for rule, count in conformance.spoke.items() if not count]
    if silent:
        print(f"  never spoke in {trials} trials, so little was tried: {', '.join(silent)}")
    print(f"{failed} fault{'' if failed == 1 else 's'}" if failed else "no fault found")
    return FAILED if failed else 0


def main() -> int:
    """Run it in this process."""
    parser = argparse.ArgumentParser()
    parser.add_argument("name")
    parser.add_argument("--trials", type=int, required=True)
    parser.add_argument("--seed", type=int, required=True)
    options = parser.parse_args()
    return report(options.name, options.trials, options.seed)


if __name__ == "__main__":
    sys.exit(main())
