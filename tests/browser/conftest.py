"""Debian's Chromium before a service with a plugin of its own."""

from __future__ import annotations

import os
import shutil
import subprocess

import pytest

import servers
from drawmark.tokens import make_token

pytest.importorskip("selenium")

from browser.page import Page, start_browser

PLUGIN = """
from dataclasses import dataclass
from drawmark import rules

@dataclass(frozen=True, kw_only=True, slots=True)
class Lane:
    distance: float | None = rules.length(1.0, 90.0, "Distance to the target.", default=None)
    indoors: bool | None = rules.flag("Whether the lane is indoors.", default=None)

def check(case):
    yield rules.caution(
        "This lane is too long for a first evening.",
        when=rules.longer(case.inputs.distance, 10.0),
        measured=rules.Measure(case.inputs.distance),
        limit=rules.Measure(10.0),
    )

@rules.hookimpl
def drawmark_rules():
    return [rules.Rule(id="lane", title="Length of the lane.", check=check, inputs=Lane,
                       concerns="local.distance", needs=("local.distance",))]
"""


def needed(name, found):
    """Skip where something is missing; `.ci/run` says that nothing may be."""
    if not found:
        assert not os.environ.get("TESTS_NEED_BROWSER"), f"{name} is missing here"
        pytest.skip(f"{name} is missing here")
    return found


@pytest.fixture(scope="session")
def driver():
    chromium = needed("chromium", shutil.which("chromium"))
    chromedriver = needed("chromedriver", shutil.which("chromedriver"))
    driver = start_browser(chromium, chromedriver)
    yield driver
    driver.quit()


@pytest.fixture(scope="session")
def served(tmp_path_factory):
    folder = tmp_path_factory.mktemp("browser")
    plugin = servers.install(folder, "short-lanes", PLUGIN)
    with servers.running(servers.service(folder, WEB_CONCURRENCY="1", **plugin)) as process:
        yield process


@pytest.fixture(scope="session")
def guarded(tmp_path_factory):
    """A service that asks for a token, and a token that it knows."""
    folder = tmp_path_factory.mktemp("guarded")
    token, line = make_token("range")
    (folder / "tokens").write_text(f"{line}\n")
    settings = {"WEB_CONCURRENCY": "1", "DRAWMARK_TOKENS_FILE": str(folder / "tokens")}
    with servers.running(servers.service(folder, **settings)) as process:
        yield process, token


@pytest.fixture
def page(driver, served):
    page = Page(driver, served.url)
    driver.get("about:blank")
    page.complaints(), page.hosts_asked()
    page.hosts.clear()
    yield page
    assert page.complaints() == []
    assert page.hosts_asked() <= {"127.0.0.1"}


@pytest.fixture(scope="session")
def axe(tmp_path_factory):
    """The script of axe-core, which looks for what keeps people out."""
    folder = tmp_path_factory.mktemp("axe")
    npm = needed("npm", shutil.which("npm"))
    command = [npm, "install", "--no-audit", "--no-fund", "--prefix", str(folder), "axe-core@4"]
    subprocess.run(command, capture_output=True, timeout=50)
    script = folder / "node_modules" / "axe-core" / "axe.min.js"
    return needed("axe-core", script.is_file()) and script.read_text("utf-8")
