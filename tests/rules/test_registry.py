"""Loading: each plugin on its own, whatever the order."""

import sys
import textwrap
from importlib.metadata import EntryPoints, distributions, entry_points
from itertools import permutations

import pytest

from drawmark.rules import registry
from drawmark.rules.configuration import configure

GOOD = """
from drawmark import rules

@rules.hookimpl
def drawmark_rules():
    return [rules.Rule(id="r", title="t", check=lambda case: [])]
"""
WORDLESS = """
class Wordless(Exception):
    def __str__(self):
        raise ValueError

raise Wordless
"""
BROKEN = {
    "bad-syntax": ("def", "SyntaxError"),
    "bad-import": ("import no_such_module_at_all", "ModuleNotFoundError"),
    "bad-exit": ("raise SystemExit(3)", "SystemExit: 3"),
    "bad-raise": ("raise BaseException('odd\\n')", "BaseException: odd"),
    "bad-empty": ("", "no hook named drawmark_rules"),
    "bad-hook": (GOOD.replace("return [", "1 / 0; return ["), "ZeroDivisionError"),
    "bad-loop": ("while True: pass", "took longer than 0.5 s"),
    "bad-sleep": ("import time; time.sleep(60)", "took longer than 0.5 s"),
    "bad-answer": (
        GOOD.replace("return [", "import itertools; return itertools.repeat(None) or ["),
        "not 51",
    ),
    "bad-interrupt": ("raise KeyboardInterrupt", "KeyboardInterrupt"),
    "bad-timeout": ("raise TimeoutError('mine')", "TimeoutError: mine"),
    "bad-words": (WORDLESS, "Wordless: its words cannot be read"),
    "bad-rule": (GOOD.replace('"r"', '"R"'), "is not kebab-case"),
}


@pytest.fixture
def installed(tmp_path, monkeypatch):
    """Install plugins in a folder of their own, and find their entry points."""

    def install(**modules):
        for name, source in modules.items():
            dashed = name.replace("_", "-").split("--")[0]
            (tmp_path / f"tried_{name}.py").write_text(textwrap.dedent(source))
            info = tmp_path / f"tried_{name}-1.2.dist-info"
            info.mkdir()
            (info / "METADATA").write_text(f"Name: tried-{name}\nVersion: 1.2\n")
            (info / "entry_points.txt").write_text(f"[{registry.GROUP}]\n{dashed} = tried_{name}\n")
        monkeypatch.syspath_prepend(tmp_path)
        return [
            point for found in distributions(path=[str(tmp_path)]) for point in found.entry_points
        ]

    yield install
    for name in [name for name in sys.modules if name.startswith("tried_")]:
        del sys.modules[name]


def test_one_that_fails_harms_no_other(installed, monkeypatch):
    monkeypatch.setattr(registry, "LOAD_LIMIT", 0.5)
    points = installed(
        good=GOOD, **{name.replace("-", "_"): source for name, (source, _) in BROKEN.items()}
    )
    found = registry.load_from(points)
    assert [plugin.name for plugin in found.active] == ["good"]
    for name, (_, reason) in BROKEN.items():
        plugin = found.find(name)
        assert plugin.status == "failed"
        assert plugin.version == "1.2"
        assert reason in plugin.error
        assert plugin.error.isprintable()


def test_order_of_installation_changes_nothing(installed):
    points = installed(ants=GOOD, bees=GOOD, bad_raise=BROKEN["bad-raise"][0])
    found = {
        tuple((plugin.name, plugin.status) for plugin in registry.load_from(order).plugins)
        for order in permutations(points)
    }
    assert found == {(("ants", "active"), ("bad-raise", "failed"), ("bees", "active"))}


@pytest.mark.parametrize(
    "names",
    [
        pytest.param(("hall__one", "hall__two"), id="the same"),
        pytest.param(("hall_2__one", "hall2__two"), id="but for a hyphen"),
    ],
)
def test_a_name_that_two_have_is_nobodys(installed, names):
    points = installed(**dict.fromkeys(names, GOOD))
    found = registry.load_from(points)
    both = " and ".join(f"tried-{name} 1.2" for name in names)
    words = f"two plugins have this name, hyphens left aside: {both}; uninstall one"
    assert [plugin.error for plugin in found.plugins] == [words] * 2


@pytest.mark.parametrize("group", ["drawmark.rules", "drawmark.rules.v2", "drawmark_rules.v1"])
def test_a_wrong_group_is_told(installed, group, monkeypatch):
    real = registry.GROUP
    monkeypatch.setattr(registry, "GROUP", group)
    points = installed(hall=GOOD)
    monkeypatch.setattr(registry, "GROUP", real)
    (plugin,) = registry.load_from(points).plugins
    assert plugin.error == f"its entry point is in the group {group}; use drawmark.rules.v1"


def test_the_log_names_what_failed_at_the_start(installed, monkeypatch, caplog):
    points = installed(bad_raise=BROKEN["bad-raise"][0])
    monkeypatch.setattr(registry, "entry_points", lambda: EntryPoints(points))
    registry.load()
    assert caplog.messages == ["plugin bad-raise 1.2 failed to load: BaseException: odd"]


def test_nobody_takes_the_cores_place(installed):
    real = [point for point in entry_points(group=registry.GROUP) if point.name == "core"]
    found = registry.load_from([*installed(core=GOOD), *real])
    assert [(plugin.name, plugin.status) for plugin in found.plugins] == [
        ("core", "active"),
        ("core", "failed"),
    ]
    (ruleset,) = configure(found).rulesets.values()
    assert {bound.version for bound in ruleset.rules} == {real[0].dist.version}


def test_nothing_passes_without_the_core(installed):
    configuration = configure(registry.load_from(installed(good=GOOD)))
    assert [plugin.name for plugin in configuration.missing] == ["core"]
    assert [one.plugin for one in configuration.rulesets["default"].unevaluated] == ["core"]


def test_the_core_comes_in_by_the_door():
    core = registry.load().find("core")
    assert core.status == "active"
    assert core.rules
