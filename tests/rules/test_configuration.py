"""`drawmark config check FILE`: every fault by its key or line, or what the file would do."""

import pytest

from drawmark.cli import main

GOOD = """
default = "evening"

[rulesets.evening]
title = "Beginners' evening"
plugins = ["clicker-clearance", "club-minimums"]
required = ["club-minimums", "club-minimums/draw-weight"]

[rulesets.evening.settings.club-minimums]
minimum_length = "28 in"
greatest_draw_weight = "24 lbf"

[rulesets.plain]
title = "The core alone"
required = ["no-such-plugin"]
"""
SAYS = [
    "Requests that name no rule set get 'evening'.",
    "evening: Beginners' evening",
    "    from_rest = 20 mm = 0.787 in",
    "    minimum_length = 711.2 mm = 28 in",
    "    greatest_draw_weight = 106.76 N = 24 lbf",
    "    draw-weight: The draw weight is no greater than the club's limit. "
    "(required: indeterminate if its fields are missing)",
    "plain: The core alone",
    "  no-such-plugin: REQUIRED AND NOT ACTIVE: not installed",
    "    nothing passes in this rule set, and the service is not ready",
]
WEIGHT = "greatest_draw_weight = '24 lbf'\n"
SETTINGS = "[rulesets.a]\nplugins = ['club-minimums']\nsettings.club-minimums."
FAULTS = {
    "no TOML": ("default = 'a'\n[rulesets.a\n", ["is not TOML: ", "(at line 2, column 12)"]),
    "a key twice": ("default = 'a'\ndefault = 'b'\n", ["is not TOML: ", "(at line 2, column "]),
    "an unknown key": ("colour = 1\n[rulesets.a]\n", ["colour: is unknown; use default"]),
    "no such plugin": (
        "[rulesets.a]\nplugins = ['club-minima']\n",
        [
            "rulesets.a.plugins: 'club-minima' is not installed; "
            "installed plugins: clicker-clearance, club-minimums"
        ],
    ),
    "no unit": (
        f"{SETTINGS}minimum_length = 28\n",
        ["rulesets.a.settings.club-minimums.minimum_length: is 28, not a text such as"],
    ),
    "a unit of mass": (
        f"{SETTINGS}minimum_length = '28 gr'\n",
        ["rulesets.a.settings.club-minimums.minimum_length: has the unit 'gr', not a text"],
    ),
    "out of range": (
        f"{SETTINGS}greatest_draw_weight = '240 lbf'\n",
        ["greatest_draw_weight: is '240 lbf', not between 4 lbf and 150 lbf"],
    ),
    "a misspelt setting": (
        f"{SETTINGS}minimal_length = '28 in'\n",
        ["settings.club-minimums.minimal_length: is unknown; use minimum_length, "],
    ),
    "a required rule without its setting": (
        "[rulesets.a]\nrequired = ['club-minimums/draw-weight']\n",
        ["rulesets.a.required: 'club-minimums/draw-weight' is not in force"],
    ),
    "nothing": ("", ["club.toml: is empty: add a rule set, such as [rulesets.evening]"]),
    "a remark alone": (
        "# empty\n",
        ["club.toml: is empty: add a rule set, such as [rulesets.evening]"],
    ),
    "a table of none": (
        "[rulesets]\n",
        ["rulesets: is missing or empty: add a rule set, such as [rulesets.evening]"],
    ),
    "no default": (
        "[rulesets.a]\n[rulesets.b]\n",
        ["default: is missing: name one of a, b"],
    ),
    "several at once": (
        f"default = 'b'\n{SETTINGS}minimum_length = 28\nplugin = []\n",
        [
            "rulesets.a.plugin: is unknown",
            "rulesets.a.settings.club-minimums.minimum_length: is 28",
            "default: is 'b', not one of a",
        ],
    ),
}


def check(tmp_path, text):
    file = tmp_path / "club.toml"
    file.write_text(text)
    return main(["config", "check", str(file)])


def test_a_good_file_is_told_in_plain_words(tmp_path, capsys):
    assert check(tmp_path, GOOD) == 1
    said = capsys.readouterr()
    lines = said.out.splitlines()
    assert [line for line in SAYS if line not in lines] == []
    assert said.err == ""


@pytest.mark.parametrize(("text", "faults"), FAULTS.values(), ids=FAULTS)
def test_each_fault_is_told(tmp_path, capsys, text, faults):
    assert check(tmp_path, text) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("drawmark: ")
    assert [fault for fault in faults if fault not in said.err] == []
    if faults[0] != "is not TOML: ":
        assert len(said.err.splitlines()) == len(faults)


@pytest.mark.parametrize(
    ("required", "silent"),
    [
        (
            "",
            ["club-minimums/draw-weight without bow.draw_weight, bow.draw_weight_basis"],
        ),
        ("'club-minimums/draw-weight'", []),
    ],
    ids=["not required", "required"],
)
def test_rules_that_a_setting_puts_in_force_and_that_may_stay_silent(
    tmp_path, capsys, required, silent
):
    text = f"{SETTINGS}{WEIGHT}required = [{required}]\n"
    assert check(tmp_path, text) == 0
    head = "  silent unless required: "
    lines = capsys.readouterr().out.splitlines()
    assert [line.removeprefix(head) for line in lines if line.startswith(head)] == silent


def test_alternatives_of_a_field_are_told_in_one_line(tmp_path, capsys):
    text = f"{SETTINGS}least_arrow_mass = '300 gr'\nsettings.club-minimums.{WEIGHT}"
    assert check(tmp_path, text) == 0
    (line,) = [one for one in capsys.readouterr().out.splitlines() if "silent" in one]
    assert line == (
        "  silent unless required: club-minimums/arrow-mass without arrow.mass or "
        "arrow.shaft.mass_per_length, arrow.mass or arrow.point.mass, arrow.mass or arrow.length; "
        "club-minimums/draw-weight without bow.draw_weight, bow.draw_weight_basis"
    )


def test_a_file_that_is_not_there(tmp_path, capsys):
    assert main(["config", "check", str(tmp_path / "none.toml")]) == 2
    assert "none.toml: cannot be read: No such file" in capsys.readouterr().err


def test_only_a_file_with_which_something_passes_is_well(tmp_path):
    assert check(tmp_path, GOOD) == 1
    assert check(tmp_path, GOOD.partition("[rulesets.plain]")[0]) == 0
