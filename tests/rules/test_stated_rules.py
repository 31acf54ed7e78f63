"""Rules that a club states in its file: what they say, and where they are wrong."""

import tomllib

import pytest

from drawmark.rules import testing
from drawmark.rules.configuration import configure
from drawmark.rules.evaluate import evaluate
from drawmark.rules.registry import Plugin, Registry
from drawmark.rules.stated_rules import CLUB_FILE, stated_rules
from drawmark.rules.text_values import ReadingError
from drawmark.rules.vocabulary import VOCABULARY, Figure
from drawmark.web import create_app
from drawmark.web.settings import Settings
from rules.bench import core, core_floor, plugin, says

REGISTRY = Registry(plugins=(core(core_floor), plugin(says(), name="open")))
BOW = {"kind": "recurve", "draw_weight": "30 lbf", "draw_weight_basis": "own_draw"}

WHOLE = {
    "length": "30 in",
    "shaft": {"static_spine": "600 astm", "mass_per_length": "7 gr/in"},
    "point": {"mass": "100 gr"},
}

# A longer draw may end these, so they cannot stop an arrow.
ENDING = ("fact = 'draw_weight'\nbelow", "fact = 'grains_per_pound'\nabove")


def stated(*texts):
    """Make a plugin of a rule for each text; ids and messages are added."""
    ids = ("it", *(f"it-{number}" for number in range(1, len(texts))))
    entries = [
        {"id": id, "message": "The club says so.", **tomllib.loads(text)}
        for id, text in zip(ids, texts, strict=True)
    ]
    faults = []
    made = stated_rules(entries, "rules", faults)
    assert faults == []
    return Plugin(name=CLUB_FILE, version="1", rules=made)


def limit(text, severity="stop"):
    return f"{text}\nseverity = '{severity}'"


# 28 in less 1 3/4 in to the pivot point (AMO FP-3), and 1 3/4 in to the back of the bow.
@pytest.mark.parametrize(
    ("text", "archer", "inches"),
    [
        pytest.param("floor = '27 in'", {}, 27.0, id="a length"),
        pytest.param("floor_past_back = '2 in'", {}, 30.0, id="past the back"),
        pytest.param(
            "floor_past_back = '2 in'", {"growth_allowance": "1 in"}, 31.0, id="and growth"
        ),
        pytest.param(
            "floor_past_back = '2 in'",
            {"draw_length": None, "arm_span": "70 in"},
            # Arm span / 2.5 (common practice, no source), and 4 in for an estimate.
            28 + 4 + 2,
            id="of an estimated draw",
        ),
    ],
)
def test_floors(text, archer, inches):
    outcome = testing.judge(stated(text), archer=archer)
    assert outcome.minimum_usable == pytest.approx(inches * 0.0254)


@pytest.mark.parametrize(
    ("text", "length", "verdict"),
    [
        ("ceiling = '31 in'", "31 in", "pass"),
        ("ceiling = '31 in'", "31.1 in", "caution"),
        ("ceiling_past_back = '3 in'", "31 in", "pass"),
        ("ceiling_past_back = '3 in'", "31.1 in", "caution"),
    ],
)
def test_ceilings_are_cautions(text, length, verdict):
    assert testing.judge(stated(text), arrow={"length": length}).verdict == verdict


@pytest.mark.parametrize(
    ("text", "words", "at_limit", "beyond"),
    [
        pytest.param(
            "fact = 'draw_weight'\nabove = '30 lbf'",
            lambda figure: {"bow": {**BOW, "draw_weight": figure}},
            "30 lbf",
            "30.1 lbf",
            id="draw weight",
        ),
        pytest.param(
            "fact = 'draw_weight'\nbelow = '30 lbf'",
            lambda figure: {"bow": {**BOW, "draw_weight": figure}},
            "30 lbf",
            "29.9 lbf",
            id="least draw weight",
        ),
        pytest.param(
            "fact = 'arrow_mass'\nbelow = '300 gr'",
            lambda figure: {"arrow": {"mass": figure}},
            "300 gr",
            "299 gr",
            id="arrow mass",
        ),
        pytest.param(
            "fact = 'grains_per_pound'\nbelow = 8",
            lambda figure: {"bow": BOW, "arrow": {"mass": figure}},
            "240 gr",
            "239 gr",
            id="8 grains a pound",
        ),
        pytest.param(
            "fact = 'grains_per_pound'\nabove = 20.0",
            lambda figure: {"bow": BOW, "arrow": {"mass": figure}},
            "600 gr",
            "601 gr",
            id="20 grains a pound",
        ),
        pytest.param(
            "fact = 'outside_diameter'\nabove = '9.3 mm'",
            lambda figure: {"arrow": {"shaft": {"outside_diameter": figure}}},
            "9.3 mm",
            "9.4 mm",
            id="diameter",
        ),
        pytest.param(
            "fact = 'point_mass'\nabove = '120 gr'",
            lambda figure: {"arrow": {"point": {"mass": figure}}},
            "120 gr",
            "121 gr",
            id="point mass",
        ),
        pytest.param(
            "fact = 'static_spine'\nabove = '1000 astm'",
            lambda figure: {"arrow": {"shaft": {"static_spine": figure}}},
            "1000 astm",
            "1001 astm",
            id="weaker than 1000, where a larger figure is a weaker shaft",
        ),
        pytest.param(
            "fact = 'static_spine'\nbelow = '1000 astm'",
            lambda figure: {"arrow": {"shaft": {"static_spine": figure}}},
            "1000 astm",
            "999 astm",
            id="stiffer than 1000",
        ),
        pytest.param(
            "fact = 'static_spine'\nbelow = '40 wood-lb'",
            lambda figure: {"arrow": {"shaft": {"static_spine": figure}}},
            "40 wood-lb",
            "39.9 wood-lb",
            id="weaker than 40 lb, where a larger figure is a stiffer shaft",
        ),
        pytest.param(
            "fact = 'draw_variation'\nabove = '20 mm'",
            lambda figure: {"archer": {"draw_variation": figure, "draw_count": 12}},
            "20 mm",
            "20.1 mm",
            id="spread of the draw",
        ),
        pytest.param(
            "fact = 'front_of_centre'\nbelow = 7",
            # 100 (A - L/2) / L of a 30 in arrow (ASTM F1435, the formula at second hand).
            lambda figure: {"arrow": {"balance_point": figure}},
            "17.1 in",
            "17.09 in",
            id="front of centre",
        ),
    ],
)
def test_limits_hold_from_just_beyond_them(text, words, at_limit, beyond):
    severity = "caution" if text.startswith(ENDING) else "stop"
    rule = stated(limit(text, severity))
    assert testing.judge(rule, **words(at_limit)).verdict == "pass"
    assert testing.judge(rule, **words(beyond)).verdict == severity


@pytest.mark.parametrize(
    ("text", "words", "verdict"),
    [
        ("fact = 'bow_kind'\namong = ['compound']", {"bow": {"kind": "compound"}}, "stop"),
        ("fact = 'bow_kind'\namong = ['compound']", {"bow": {"kind": "recurve"}}, "pass"),
        (
            "fact = 'shaft_material'\namong = ['wood']",
            {"arrow": {"shaft": {"material": "wood"}}},
            "stop",
        ),
        (
            "fact = 'experience'\namong = 'first_evenings'",
            {"archer": {"experience": "first_evenings"}},
            "stop",
        ),
        # A clicker that no field shows counts as none.
        (
            "fact = 'draw_control'\namong = ['none']",
            {"archer": {"draw_control": "clicker"}},
            "stop",
        ),
        # It may be true all the same.
        (
            "fact = 'draw_control'\namong = ['clicker']",
            {"archer": {"draw_control": "clicker"}},
            "stop",
        ),
        ("fact = 'draw_control'\namong = ['clicker']", {}, "pass"),
    ],
)
def test_words_are_refused(text, words, verdict):
    assert testing.judge(stated(limit(text)), **words).verdict == verdict


def test_a_draw_weight_at_28_in_takes_the_end_that_is_stricter_for_each_limit():
    bow = {**BOW, "draw_weight_basis": "at_28"}
    for text in ("above = '30 lbf'", "below = '30 lbf'"):
        rule = stated(limit(f"fact = 'draw_weight'\n{text}", "caution"))
        drawn = "29 in" if "above" in text else "27 in"
        assert testing.judge(rule, archer={"draw_length": drawn}, bow=bow).verdict == "caution"
    facts = testing.judge(rule, archer={"draw_length": "27 in"}, bow=bow).facts
    assert facts.least_draw_weight < facts.draw_weight < 30 * 4.4482216152605


def test_a_launch_load_at_28_in_takes_the_end_that_is_stricter_for_each_limit():
    archer = {"draw_length": "24 in"}
    words = {"archer": archer, "bow": {**BOW, "draw_weight_basis": "at_28"}, "arrow": WHOLE}
    facts = testing.judge(stated("floor = '20 in'"), **words).facts
    least = facts.launch_load * facts.least_draw_weight / facts.draw_weight
    between = (least + facts.launch_load) / 2
    for comparison in ("above", "below"):
        rule = stated(limit(f"fact = 'launch_load'\n{comparison} = {between}", "note"))
        (found,) = [one for one in testing.judge(rule, **words).findings if one.plugin == CLUB_FILE]
        expected = facts.launch_load if comparison == "above" else least
        assert found.said.measured.value == pytest.approx(expected)


@pytest.mark.parametrize("severity", ["note", "caution", "indeterminate", "stop"])
def test_severity_message_measure_and_limit_are_told(severity):
    rule = stated(limit("fact = 'draw_weight'\nabove = '24 lbf'", severity))
    (found,) = testing.judge(rule, bow=BOW).findings
    assert (found.said.severity, found.said.message) == (severity, "The club says so.")
    assert found.said.measured.value == pytest.approx(30 * 4.4482216152605)
    assert found.said.limit.value == pytest.approx(24 * 4.4482216152605)


def test_what_is_missing_is_not_checked():
    outcome = testing.judge(stated(limit("fact = 'draw_weight'\nabove = '24 lbf'")))
    assert [(one.plugin, one.rule, one.fields) for one in outcome.not_checked] == [
        (CLUB_FILE, "it", ("bow.draw_weight", "bow.draw_weight_basis"))
    ]


@pytest.mark.parametrize(
    ("text", "title"),
    [
        ("floor = '27 in'", "The arrow is at least 27 in long."),
        (
            "floor_past_back = '2 in'",
            "The arrow reaches at least 2 in past the back of the bow at full draw.",
        ),
        (limit("fact = 'point_mass'\nabove = '120 gr'"), "Mass of the point: not above 120 gr."),
        (
            limit("fact = 'experience'\namong = ['learning']"),
            "The archer's experience: not learning.",
        ),
        (
            limit("fact = 'draw_control'\namong = ['none', 'settled']"),
            "What ends the draw, as claimed or as the fields show it: not none or settled.",
        ),
    ],
)
def test_titles_can_be_read_aloud(text, title):
    assert stated(text).rules[0].title == title


def example_of(name):
    fact = VOCABULARY[name]
    if not isinstance(fact, Figure):
        return f"among = ['{fact.choices[0]}']"
    units = {"mass": "'20 g'", "force": "'100 N'", "length": "'9 mm'", "static_spine": "'500 astm'"}
    return f"above = {units.get(fact.kind, 1 if name == 'launch_load' else 5)}"


STATEMENTS = [
    "floor = '27 in'",
    "floor_past_back = '2 in'",
    "ceiling = '31 in'",
    "ceiling_past_back = '3 in'",
    *(limit(f"fact = '{name}'\n{example_of(name)}", "caution") for name in VOCABULARY),
    limit("fact = 'draw_weight'\nabove = '100 N'"),
    limit("fact = 'draw_weight'\nbelow = '100 N'", "caution"),
    limit("fact = 'grains_per_pound'\nbelow = 8"),
]


def test_every_statement_conforms_like_a_plugin():
    spoke = testing.conform(stated(*STATEMENTS), trials=100)
    assert len(spoke) == len(STATEMENTS)
    assert [text for text, times in zip(STATEMENTS, spoke.values(), strict=True) if not times] == []


HEAD = "[rulesets.a]\n\n[[rulesets.a.rules]]\n"
GOOD = "id = 'x'\nmessage = 'm'\n"
FAULTS = {
    "no list": ("[rulesets.a]\nrules = 'x'", 2, "rulesets.a.rules", "[[rulesets.a.rules]]"),
    "one table": ("[rulesets.a.rules]\nid = 'x'", 1, "rulesets.a.rules", "not a list of tables"),
    "no id": (f"{HEAD}message = 'm'\nfloor = '27 in'", 3, "rules.0", "needs an id"),
    "a bad id": (f"{HEAD}id = 'My Rule'\nmessage = 'm'\nfloor = '27 in'", 4, "0.id", "needs an id"),
    "no message": (f"{HEAD}id = 'x'\nfloor = '27 in'", 3, "rules.0", "needs a message"),
    "an empty message": (
        f"{HEAD}id = 'x'\nfloor = '27 in'\nmessage = ''",
        6,
        "rules.0.message",
        "needs a message",
    ),
    "a long message": (
        f"{HEAD}id = 'x'\nfloor = '27 in'\nmessage = '{'x' * 501}'",
        6,
        "rules.0.message",
        "needs a message",
    ),
    "no subject": (f"{HEAD}{GOOD}", 3, "rules.0", "needs exactly one of floor, floor_past_back"),
    "two subjects": (
        f"{HEAD}{GOOD}floor = '27 in'\nceiling = '30 in'",
        3,
        "rules.0",
        "exactly one",
    ),
    "an unknown member": (f"{HEAD}{GOOD}floor = '27 in'\nflor = 1", 7, "0.flor", "is unknown; use"),
    "a floor without unit": (f"{HEAD}{GOOD}floor = 27", 6, "rules.0.floor", "is 27, not a text"),
    "a floor out of range": (f"{HEAD}{GOOD}floor = '27 mm'", 6, "rules.0.floor", "not between"),
    "a floor with a severity": (
        f"{HEAD}{GOOD}floor = '27 in'\nseverity = 'stop'",
        7,
        "rules.0.severity",
        "does not go with floor",
    ),
    "an unknown fact": (
        f"{HEAD}{GOOD}fact = 'colour'\nabove = 1\nseverity = 'stop'",
        6,
        "rules.0.fact",
        "is 'colour', not one of arrow_mass, bow_kind",
    ),
    "no severity": (
        f"{HEAD}{GOOD}fact = 'draw_weight'\nabove = '24 lbf'",
        3,
        "rules.0",
        "needs a severity: note, caution, indeterminate, stop",
    ),
    "a severity that would be less strict": (
        f"{HEAD}{GOOD}fact = 'draw_weight'\nabove = '24 lbf'\nseverity = 'pass'",
        8,
        "rules.0.severity",
        "needs a severity",
    ),
    "a stop that a longer draw would end": (
        f"{HEAD}{GOOD}fact = 'draw_weight'\nbelow = '24 lbf'\nseverity = 'stop'",
        8,
        "rules.0.severity",
        "cannot be stop: a longer draw would end it",
    ),
    "no comparison": (
        f"{HEAD}{GOOD}fact = 'draw_weight'\nseverity = 'stop'",
        3,
        "rules.0",
        "needs exactly one of above, below beside draw_weight",
    ),
    "a word compared": (
        f"{HEAD}{GOOD}fact = 'bow_kind'\nabove = 'recurve'\nseverity = 'stop'",
        3,
        "rules.0",
        "needs exactly one of among beside bow_kind",
    ),
    "an unknown word": (
        f"{HEAD}{GOOD}fact = 'bow_kind'\namong = ['crossbow']\nseverity = 'stop'",
        7,
        "rules.0.among",
        "has 'crossbow', not one of recurve",
    ),
    "no words": (
        f"{HEAD}{GOOD}fact = 'bow_kind'\namong = []\nseverity = 'stop'",
        7,
        "rules.0.among",
        "is empty",
    ),
    "a wrong unit": (
        f"{HEAD}{GOOD}fact = 'draw_weight'\nabove = '24 in'\nseverity = 'stop'",
        7,
        "rules.0.above",
        "has the unit 'in'",
    ),
    "a number in words": (
        f"{HEAD}{GOOD}fact = 'launch_load'\nabove = 'two'\nseverity = 'stop'",
        7,
        "rules.0.above",
        "is 'two', not a number",
    ),
    "one id twice": (
        f"{HEAD}{GOOD}floor = '27 in'\n[[rulesets.a.rules]]\n{GOOD}floor = '28 in'",
        8,
        "rules.1.id",
        "'x' is named twice",
    ),
    "a required rule that is not stated": (
        f"[rulesets.a]\nrequired = ['club-file/y']\n[[rulesets.a.rules]]\n{GOOD}floor = '27 in'",
        2,
        "rulesets.a.required",
        "'club-file/y' is not in force; rules in force: x",
    ),
    "the file named as a plugin": (
        "[rulesets.a]\nplugins = ['club-file']",
        2,
        "rulesets.a.plugins",
        "is this file",
    ),
}


def read(tmp_path, text, registry=REGISTRY):
    (tmp_path / "club.toml").write_text(text)
    return configure(registry, tmp_path / "club.toml")


@pytest.mark.parametrize(("text", "line", "key", "detail"), FAULTS.values(), ids=FAULTS)
def test_faults_are_told_with_line_and_key(tmp_path, text, line, key, detail):
    with pytest.raises(ReadingError) as caught:
        read(tmp_path, text)
    (told,) = str(caught.value).splitlines()
    assert told.startswith(f"line {line}: ")
    assert key in told
    assert detail in told


def test_faults_are_told_from_the_top_of_the_file(tmp_path):
    text = (
        "default = 'a'\n[rulesets.a]\nplugins = ['absent']\nflor = 1\n"
        f"[[rulesets.a.rules]]\n{GOOD}floor = 27\n[rulesets.b]\nflor = 1\n"
    )
    with pytest.raises(ReadingError) as caught:
        read(tmp_path, text)
    assert [fault.line for fault in caught.value.faults] == [3, 4, 8, 10]


def test_a_plugin_may_not_have_the_files_name(tmp_path):
    taken = Registry(plugins=(*REGISTRY.plugins, plugin(says(), name=CLUB_FILE)))
    with pytest.raises(ReadingError, match=r"line 3: .*beside a plugin named 'club-file'"):
        read(tmp_path, f"{HEAD}{GOOD}floor = '27 in'", taken)


def test_rules_are_of_their_rule_set_alone_and_may_be_required(tmp_path):
    text = (
        "default = 'a'\n[rulesets.a]\nrequired = ['club-file/heavy']\n"
        "[[rulesets.a.rules]]\nid = 'heavy'\nmessage = 'm'\nfact = 'draw_weight'\n"
        "above = '24 lbf'\nseverity = 'caution'\n[rulesets.b]\n"
    )
    rulesets = read(tmp_path, text).rulesets
    found = {
        name: evaluate(testing.fitting(), ruleset).verdict for name, ruleset in rulesets.items()
    }
    assert found == {"a": "indeterminate", "b": "pass"}


def test_their_version_changes_with_what_they_say(tmp_path):
    first, same, other = (
        read(tmp_path, f"{HEAD}{GOOD}floor = '{length} in'").rulesets["a"].applied[-1]
        for length in (27, 27, 28)
    )
    assert first.plugin == CLUB_FILE
    assert first == same
    assert first.version != other.version


def test_they_are_listed_like_any_rule(tmp_path):
    text = f"{HEAD}{GOOD}fact = 'draw_weight'\nabove = '24 lbf'\nseverity = 'stop'"
    (tmp_path / "club.toml").write_text(text)
    client = create_app(Settings(config=str(tmp_path / "club.toml"))).test_client()
    listed = client.get("/v1/rules").get_json()["rules"]
    assert [one for one in listed if one["plugin"] == CLUB_FILE] == [
        {
            "plugin": CLUB_FILE,
            "rule": "x",
            "kind": "stated",
            "title": "Draw weight at the archer's own draw: not above 24 lbf.",
            "rulesets": ["a"],
            "needs": ["bow.draw_weight", "bow.draw_weight_basis"],
            "gives": ["finding"],
            "source": "the club's file",
        }
    ]
    (ruleset,) = client.get("/v1/rulesets").get_json()["rulesets"]
    assert [one["plugin"] for one in ruleset["plugins"]] == ["core", CLUB_FILE]
