"""The public surface: what a plugin's author may lean on."""

import inspect
import subprocess
import sys
import types

import pytest

from drawmark import rules
from drawmark.rules import testing
from drawmark.rules.registry import GROUP


def test_group_of_entry_points_has_the_major_version():
    assert GROUP.endswith(f".v{rules.API_VERSION.split('.')[0]}")


def test_the_plugin_in_the_module_text_works():
    text = inspect.getdoc(rules).split("::\n\n")[1].split("\n\nFigures are")[0]
    module = types.ModuleType("example")
    exec(inspect.cleandoc(text), module.__dict__)
    hall = testing.plugin(module, "our-hall")
    outcome = testing.judge(hall, archer={"draw_length": "28 in"})
    # 26.25 in to the pivot point (AMO FP-3's worked example of a 28 in draw), and 3 in.
    assert outcome.minimum_usable == pytest.approx(29.25 * 0.0254)
    assert testing.conform(hall, trials=10) == {"hall-margin": 10}


@pytest.mark.parametrize("severity", ["note", "caution", "indeterminate", "stop"])
def test_findings_have_a_word_each(severity):
    said = getattr(rules, severity)("m", when=False, source="s", fields=("arrow.mass",))
    assert said == rules.Finding(
        severity=severity, message="m", when=False, source="s", fields=("arrow.mass",)
    )


@pytest.mark.parametrize(
    ("made", "si"),
    [
        (rules.mm(25.4), 0.0254),
        (rules.inches(1), 0.0254),
        (rules.grams(1), 0.001),
        (rules.grains(7000), 0.45359237),  # 7000 grains to the pound, exactly
        (rules.newtons(3), 3.0),
        (rules.pounds_force(1), 4.4482216152605),  # pound times standard gravity, exactly
        (rules.grams_per_metre(8), 0.008),
        (rules.grains_per_inch(7000), 0.45359237 / 0.0254),
    ],
)
def test_figures_in_familiar_units(made, si):
    assert made == pytest.approx(si, rel=1e-14)


@pytest.mark.parametrize(("figure", "stiffness"), [(300, 8.4873), (500, 5.0924), (1000, 2.5462)])
def test_static_spine_in_familiar_units(figure, stiffness):
    # E I = 2546.176 / spine, derived from the span of 28 in and the load of 1.94 lb.
    assert rules.spine_astm(figure) == pytest.approx(stiffness, abs=5e-5)
    # Both tests bend a shaft by P L^3 / (48 E I), and 26 over the inches is the wood spine.
    inches = 0.8254185 * figure / 1000
    assert rules.spine_wood(26 / inches) == pytest.approx(stiffness, rel=1e-5)


def test_figures_compare_with_the_cores_tolerance():
    assert not rules.shorter(0.7 - 5e-7, 0.7)
    assert rules.shorter(0.7 - 2e-6, 0.7)
    assert not rules.longer(0.7 + 5e-7, 0.7)
    assert rules.longer(0.7 + 2e-6, 0.7)
    assert not rules.more(100 * (1 + 1e-10), 100)
    assert rules.more(100.001, 100)
    assert not rules.less(100 * (1 - 1e-10), 100)
    assert rules.less(99.999, 100)


def test_rules_load_no_web_and_no_test_library():
    loaded = (
        "import sys, drawmark.rules, drawmark.rules.testing, drawmark.rules.configuration\n"
        "heavy = {'flask', 'marshmallow', 'apispec', 'gunicorn', 'hypothesis', 'pytest'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", loaded], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout == "[]\n"
