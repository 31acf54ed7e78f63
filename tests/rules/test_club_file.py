"""Rule sets from the club's file."""

from dataclasses import dataclass
from time import process_time

import pytest

from drawmark import rules
from drawmark.rules.configuration import configure, describe
from drawmark.rules.registry import Plugin, Registry
from drawmark.rules.text_values import ReadingError
from rules.bench import core, core_floor, plugin, rule, says


@dataclass(frozen=True)
class Settings:
    least: float = rules.length(0.3, 1.0, "Least length.")
    mass: float | None = rules.mass(0.001, 0.1, "Mass.", default=None)
    strict: bool = rules.flag("Strict.", default=False)
    ratio: float = rules.number(1.0, 9.0, "Ratio.", default=5.0)
    count: int = rules.whole(1, 9, "Count.", default=3)
    way: str = rules.choice(("near", "far"), "Way.", default="near")
    label: str = rules.text(10, "Label.", default="")

    def __post_init__(self):
        if self.way == "far" and self.strict:
            raise ValueError("way far is never strict")


HALL = plugin(
    rule(says(), "always", settings=Settings),
    rule(says(), "mass", settings=Settings, applies=lambda settings: settings.mass is not None),
    name="hall",
)
OPEN = plugin(says(), name="open")
BROKEN = Plugin(name="broken", version="1", status="failed", error="ImportError: no")
REGISTRY = Registry(plugins=(core(core_floor), BROKEN, HALL, OPEN))
SETTINGS = '[rulesets.evening.settings.hall]\nleast = "28 in"\n'


def read(tmp_path, text):
    path = tmp_path / "club.toml"
    path.write_text(text)
    return configure(REGISTRY, path)


def rules_of(ruleset):
    return [f"{bound.plugin}/{bound.rule.id}" for bound in ruleset.rules]


def test_without_a_file_all_that_needs_no_settings_applies():
    configuration = configure(REGISTRY)
    assert configuration.default == "default"
    assert rules_of(configuration.rulesets["default"]) == ["core/r", "open/r"]
    assert configuration.missing == ()


def test_a_rule_set_in_full(tmp_path):
    configuration = read(
        tmp_path,
        """
        default = "evening"

        [rulesets.evening]
        title = "Beginners' evening"
        plugins = ["open", "hall"]
        required = ["hall", "hall/mass"]

        [rulesets.evening.settings.hall]
        least = "28.5 in"
        mass = "300 gr"
        strict = true
        ratio = 4
        count = 2
        label = "Tuesday"

        [rulesets.plain]
        """,
    )
    evening = configuration.rulesets["evening"]
    assert evening.title == "Beginners' evening"
    assert rules_of(evening) == ["core/r", "hall/always", "hall/mass", "open/r"]
    assert [bound.required for bound in evening.rules] == [False, False, True, False]
    assert evening.rules[1].settings == Settings(
        least=pytest.approx(0.7239),
        mass=pytest.approx(0.0194396730),
        strict=True,
        ratio=4.0,
        count=2,
        label="Tuesday",
    )
    plain = configuration.rulesets["plain"]
    assert rules_of(plain) == ["core/r"]
    assert plain.title == "plain"
    assert configuration.default == "evening"


def test_a_setting_left_out_leaves_its_rule_out(tmp_path):
    configuration = read(tmp_path, f"[rulesets.evening]\nplugins = ['hall']\n{SETTINGS}")
    assert rules_of(configuration.rulesets["evening"]) == ["core/r", "hall/always"]
    assert configuration.default == "evening"


@pytest.mark.parametrize(
    ("member", "missing", "absent"),
    [
        pytest.param("required = ['broken']", ["broken"], [], id="required and failed"),
        pytest.param("required = ['elsewhere']", ["elsewhere"], [], id="required, not installed"),
        pytest.param("required = ['elsewhere/x']", ["elsewhere"], [], id="a rule of it required"),
        pytest.param("plugins = ['broken']", [], ["broken"], id="named and failed"),
    ],
)
def test_plugins_that_are_not_active(tmp_path, member, missing, absent):
    configuration = read(tmp_path, f"[rulesets.evening]\n{member}\n")
    evening = configuration.rulesets["evening"]
    assert [one.name for one in evening.missing] == missing
    assert [one.name for one in evening.absent] == absent
    assert [one.name for one in configuration.missing] == missing


HEAD = "[rulesets.evening]\nplugins = ['hall']\n"
FAULTS = {
    "no TOML": ("title = \n", "is not TOML", "line 1"),
    "unknown top": ("colour = 1\n[rulesets.a]", "colour", "is unknown"),
    "no rule set": ("default = 'a'", "rulesets", "is missing or empty: add a rule set"),
    "rule sets in a list": ("rulesets = ['a']", "rulesets", "is missing or empty: add a rule set"),
    "a rule set that is text": ("rulesets = {a = 'b'}", "rulesets.a", "is not a table"),
    "a bad name": ("[rulesets.'My Set']", "rulesets.My Set", "is not a name"),
    "unknown member": ("[rulesets.a]\nplugin = []", "rulesets.a.plugin", "is unknown"),
    "title that is a number": ("[rulesets.a]\ntitle = 7", "rulesets.a.title", "not a short text"),
    "plugins that are text": ("[rulesets.a]\nplugins = 'x'", "rulesets.a.plugins", "not a list"),
    "plugins of numbers": ("[rulesets.a]\nplugins = [1]", "rulesets.a.plugins", "not a list"),
    "a plugin twice": (
        "[rulesets.a]\nplugins = ['open', 'open']",
        "rulesets.a.plugins",
        "is named twice",
    ),
    "a plugin with a bad name": (
        "[rulesets.a]\nplugins = ['O!']",
        "rulesets.a.plugins",
        "is not the name",
    ),
    "not installed": (
        "[rulesets.a]\nplugins = ['hal']",
        "rulesets.a.plugins",
        "'hal' is not installed; installed plugins: broken, hall, open",
    ),
    "no default": ("[rulesets.a]\n[rulesets.b]", "default", "is missing: name one of a, b"),
    "wrong default": ("default = 'c'\n[rulesets.a]", "default", "is 'c', not one of a"),
    "default in a list": ("default = ['a']\n[rulesets.a]", "default", "not one of a"),
    "settings of no plugin": (
        f"[rulesets.evening]\n{SETTINGS}",
        "rulesets.evening.settings.hall",
        "a plugin that this rule set does not name",
    ),
    "settings for one without": (
        "[rulesets.a]\nplugins = ['open']\nsettings.open.x = 1",
        "rulesets.a.settings.open",
        "has no settings",
    ),
    "settings that are text": (
        "[rulesets.a]\nplugins = ['hall']\nsettings.hall = 'x'",
        "rulesets.a.settings.hall",
        "is not a table",
    ),
    "a setting is missing": (
        HEAD,
        "rulesets.evening.settings.hall.least",
        "is missing: Least length.",
    ),
    "an unknown setting": (
        f"{HEAD}{SETTINGS}leest = 1",
        "rulesets.evening.settings.hall.leest",
        "is unknown; use least",
    ),
    "a bare number": (
        f"{HEAD}settings.hall.least = 28",
        "rulesets.evening.settings.hall.least",
        'is 28, not a text such as "650 mm", in mm, cm, m, in, ft',
    ),
    "no unit": (f"{HEAD}settings.hall.least = '28'", "hall.least", "not a text such as"),
    "a wrong unit": (f"{HEAD}settings.hall.least = '28 gr'", "hall.least", "has the unit 'gr'"),
    "out of range": (
        f"{HEAD}settings.hall.least = '28 mm'",
        "hall.least",
        "is '28 mm', not between 300 mm and 1000 mm",
    ),
    "not finite": (f"{HEAD}settings.hall.least = 'inf in'", "hall.least", "not a text such as"),
    "a ratio out of range": (f"{HEAD}{SETTINGS}ratio = 10.0", "hall.ratio", "not between 1 and 9"),
    "a ratio that is nan": (f"{HEAD}{SETTINGS}ratio = nan", "hall.ratio", "not between 1 and 9"),
    "a ratio in words": (f"{HEAD}{SETTINGS}ratio = 'five'", "hall.ratio", "not a number"),
    "half a count": (f"{HEAD}{SETTINGS}count = 2.5", "hall.count", "not a whole number"),
    "a count that is true": (f"{HEAD}{SETTINGS}count = true", "hall.count", "not a whole number"),
    "a flag in words": (f"{HEAD}{SETTINGS}strict = 'yes'", "hall.strict", "neither true nor"),
    "an unknown choice": (f"{HEAD}{SETTINGS}way = 'up'", "hall.way", "not one of near, far"),
    "a choice in a list": (f"{HEAD}{SETTINGS}way = ['near']", "hall.way", "not one of near, far"),
    "a long text": (f"{HEAD}{SETTINGS}label = 'x234567890x'", "hall.label", "more than 10"),
    "settings that contradict": (
        f"{HEAD}{SETTINGS}way = 'far'\nstrict = true",
        "rulesets.evening.settings.hall",
        "way far is never strict",
    ),
    "a required rule that is not in force": (
        f"{HEAD}required = ['hall/mass']\n{SETTINGS}",
        "rulesets.evening.required",
        "'hall/mass' is not in force; rules in force: always",
    ),
    "a required rule that does not exist": (
        f"{HEAD}required = ['open/x']\n{SETTINGS}",
        "rulesets.evening.required",
        "'open/x' is not in force; rules in force: r",
    ),
}


@pytest.mark.parametrize(("text", "key", "detail"), FAULTS.values(), ids=FAULTS)
def test_faults_are_told_with_their_key(tmp_path, text, key, detail):
    with pytest.raises(ReadingError) as caught:
        read(tmp_path, text)
    assert any(key in str(one) and detail in str(one) for one in _lines(caught.value))


def _lines(error):
    return [f"{fault.key}: {fault.detail}" for fault in error.faults]


def test_every_fault_is_told_at_once(tmp_path):
    with pytest.raises(ReadingError) as caught:
        read(
            tmp_path,
            "colour = 1\ndefault = 'x'\n[rulesets.a]\nplugins = ['no', 'hall']\n"
            "settings.hall.ratio = 99\n[rulesets.b]\nplugin = 1\n",
        )
    assert [fault.key for fault in caught.value.faults] == [
        "colour",
        "default",
        "rulesets.a.plugins",
        "rulesets.a.settings.hall.least",
        "rulesets.a.settings.hall.ratio",
        "rulesets.b.plugin",
    ]


def test_a_file_that_cannot_be_read(tmp_path):
    with pytest.raises(ReadingError, match="cannot be read: No such file"):
        configure(REGISTRY, tmp_path / "none.toml")
    (tmp_path / "club.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(ReadingError, match="is not TOML"):
        configure(REGISTRY, tmp_path / "club.toml")


UNREADABLE = {
    "a dotted key": ("# x\n" + ".".join("a" * 32_000) + " = 1", "line 2: ", "dots in a line"),
    "one dot too many": ("#" + "." * 101, "line 1: ", "has more than 100 dots in a line"),
    "dotted keys in a dotted table": (
        f"[{'.'.join('a' * 900)}]\n"
        + "".join(f"k{at}.{'.'.join('b' * 900)} = 1\n" for at in range(30)),
        "line 1: ",
        "dots in a line",
    ),
    "lists in lists": ("a = [\n" + "[" * 1900, "", "nests lists or tables too deeply"),
    "lists in lists, in lines": ("a = " + "[\n" * 9000, "", "nests lists or tables too deeply"),
    "a number without an end": ("a = " + "9" * 1900 + "\nb = ", "", "is not TOML"),
}


@pytest.mark.parametrize(("text", "line", "detail"), UNREADABLE.values(), ids=UNREADABLE)
def test_a_file_that_would_take_too_long_or_too_deep(tmp_path, text, line, detail):
    begun = process_time()
    with pytest.raises(ReadingError) as caught:
        read(tmp_path, text)
    assert process_time() - begun < 1
    assert str(caught.value).startswith(f"{line}{tmp_path / 'club.toml'}: ")
    assert detail in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1


def test_a_file_of_lines_with_the_most_dots_takes_no_time(tmp_path):
    table, below = ".".join(["rulesets", *"a" * 100]), ".".join("b" * 100)
    text = f"[{table}]\n" + "".join(f"k{at}.{below} = 1\n" for at in range(100))
    begun = process_time()
    with pytest.raises(ReadingError):
        read(tmp_path, text)
    assert process_time() - begun < 0.7


def test_a_long_line(tmp_path):
    assert read(tmp_path, f"#{'x.' * 100}{'x' * 9000}\n[rulesets.a]\n").default == "a"


def test_a_plugin_that_cannot_say_whether_a_rule_applies_has_it_applied():
    odd = plugin(rule(says(), applies=lambda settings: 1 / 0), name="odd")
    configuration = configure(Registry(plugins=(core(core_floor), odd)))
    assert rules_of(configuration.rulesets["default"]) == ["core/r", "odd/r"]


def test_description(tmp_path):
    text = describe(
        read(
            tmp_path,
            "default = 'b'\n"
            f"{HEAD}title = 'Evening'\nrequired = ['hall/always', 'gone']\n"
            f"{SETTINGS}mass = '20 g'\n"
            "[rulesets.b]\nplugins = ['broken']\n",
        )
    )
    assert text == (
        "Requests that name no rule set get 'b'.\n"
        "\n"
        "evening: Evening\n"
        "  core 1\n"
        "    r: A rule under test.\n"
        "  hall 1\n"
        "    least = 711.2 mm = 28 in\n"
        "    mass = 20 g = 308.65 gr\n"
        "    strict = false\n"
        "    ratio = 5.0\n"
        "    count = 3\n"
        "    way = near\n"
        "    label = \n"
        "    always: A rule under test."
        " (required: indeterminate if its fields are missing)\n"
        "    mass: A rule under test.\n"
        "  gone: REQUIRED AND NOT ACTIVE: not installed\n"
        "    nothing passes in this rule set, and the service is not ready\n"
        "\n"
        "b: b\n"
        "  core 1\n"
        "    r: A rule under test.\n"
        "  broken: not active, and every answer says so: ImportError: no\n"
    )
