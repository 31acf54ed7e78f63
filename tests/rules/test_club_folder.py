"""A folder of clubs' files: each is read by itself, and what is alike is shared."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace

import pytest

from drawmark.cli import main
from drawmark.rules import text
from drawmark.rules.club_folder import LARGEST_FILE, read_clubs
from drawmark.rules.registry import Plugin, Registry
from drawmark.rules.text_values import ReadingError
from drawmark.tokens import make_token
from drawmark.web.settings import Settings
from drawmark.web.wire.callers import read_callers
from rules.bench import core, core_floor, plugin, rule, says

REGISTRY = Registry(plugins=(core(core_floor), plugin(says(), name="hall")))
GOOD = '[rulesets.evening]\ntitle = "An evening"\n'
FAULTS = {
    "malformed": (b"default = [", "is not TOML"),
    "empty": (b"", "is empty"),
    "not text": (b"\xff\xfe", "is not TOML"),
    "nested too deeply": (b"a = " + b"[\n" * 9000, "nests lists or tables too deeply"),
    "too many dots": (b"a." * 9000 + b"b = 1", "line 1: "),
    "too large": (b"# " + b"x" * LARGEST_FILE, f"is larger than {LARGEST_FILE} bytes"),
    "unknown key": (b"[rulesets.evening]\n\nbow = 1\n", "line 3: rulesets.evening.bow: is unknown"),
    "unknown plugin": (b"[rulesets.evening]\nplugins = ['attic']\n", "line 2: rulesets.evening"),
}


@pytest.fixture
def folder(tmp_path):
    for name in ("alder", "birch", "cedar"):
        (tmp_path / f"{name}.toml").write_text(GOOD)
    return tmp_path


def words_of(clubs):
    return {name: str(error) for name, error in clubs.faults.items()}


def test_each_file_is_a_club(folder):
    (folder / "readme.txt").write_text("no club")
    (folder / ".elm.toml").write_text("half written by an editor")
    clubs = read_clubs(folder, REGISTRY)
    assert sorted(clubs.configurations) == ["alder", "birch", "cedar"]
    assert (clubs.faults, clubs.waiting) == ({}, frozenset())
    assert clubs.configurations["alder"].default == "evening"
    assert clubs.counts == {"known": 3, "closed": 0, "stale": 0, "waiting": 0}


@pytest.mark.parametrize(("text", "words"), FAULTS.values(), ids=FAULTS)
def test_a_fault_of_one_file_spoils_no_other(folder, text, words):
    (folder / "birch.toml").write_bytes(text)
    clubs = read_clubs(folder, REGISTRY)
    assert sorted(clubs.configurations) == ["alder", "cedar"]
    assert list(clubs.faults) == ["birch"]
    assert words in words_of(clubs)["birch"]
    assert (clubs.closed, clubs.stale) == ({"birch"}, frozenset())


@pytest.mark.parametrize(("text", "words"), FAULTS.values(), ids=FAULTS)
def test_a_fault_at_a_reload_keeps_what_was_in_force_of_that_club_alone(folder, text, words):
    before = read_clubs(folder, REGISTRY)
    (folder / "birch.toml").write_bytes(text)
    (folder / "cedar.toml").write_text("[rulesets.morning]\n")
    now = read_clubs(folder, REGISTRY, before=before)
    assert now.configurations["birch"] is before.configurations["birch"]
    assert now.configurations["cedar"].default == "morning"
    assert (now.closed, now.stale) == (frozenset(), {"birch"})
    # And again, until the file is mended.
    again = read_clubs(folder, REGISTRY, before=now)
    assert again.configurations["birch"] is before.configurations["birch"]
    (folder / "birch.toml").write_text("[rulesets.noon]\n")
    mended = read_clubs(folder, REGISTRY, before=again)
    assert mended.configurations["birch"].default == "noon"
    assert mended.faults == {}


def test_a_plugin_that_leaves_over_what_one_club_wrote_ends_no_start(folder):
    @dataclass(frozen=True)
    class Leaving:
        word: str = text(9, "A word.", default="")

        def __post_init__(self):
            if self.word:
                raise SystemExit(3)

    attic = plugin(replace(rule(says()), settings=Leaving), name="attic")
    named = "[rulesets.evening]\nplugins = ['attic']\n"
    (folder / "alder.toml").write_text(named)
    (folder / "birch.toml").write_text(f"{named}settings.attic.word = 'out'\n")
    clubs = read_clubs(folder, Registry(plugins=(*REGISTRY.plugins, attic)))
    assert sorted(clubs.configurations) == ["alder", "cedar"]
    assert "cannot be read: SystemExit: 3" in words_of(clubs)["birch"]


def test_names_that_no_token_could_give(folder):
    for name in ("Elm Hall", "1elm", "elm_hall", "e" * 61):
        (folder / f"{name}.toml").write_text(GOOD)
    clubs = read_clubs(folder, REGISTRY)
    assert len(clubs.configurations) == 3
    assert all("must be named with" in words for words in words_of(clubs).values())
    assert len(clubs.faults) == 4


def test_what_is_no_file(folder):
    (folder / "elm.toml").mkdir()
    (folder / "fir.toml").symlink_to(folder / "nowhere")
    os.mkfifo(folder / "gorse.toml")
    faults = words_of(read_clubs(folder, REGISTRY))
    assert sorted(faults) == ["elm", "fir", "gorse"]
    assert all("is not a file" in words for words in faults.values())


def test_a_club_that_tokens_name_and_that_has_no_file(folder):
    clubs = read_clubs(folder, REGISTRY, expected=["alder", "elm"])
    assert "elm.toml: is missing, and tokens name this club" in words_of(clubs)["elm"]
    before = read_clubs(folder, REGISTRY, expected=["alder"])
    (folder / "alder.toml").unlink()
    kept = read_clubs(folder, REGISTRY, expected=["alder"], before=before)
    assert kept.configurations["alder"] is before.configurations["alder"]
    gone = read_clubs(folder, REGISTRY, before=before)
    assert "alder" not in {*gone.configurations, *gone.faults}


@pytest.mark.parametrize("name", ["empty", "nowhere", "club.toml"])
def test_a_folder_that_cannot_be_used(tmp_path, name):
    (tmp_path / "empty").mkdir()
    (tmp_path / "club.toml").write_text(GOOD)
    with pytest.raises(ReadingError, match=name) as raised:
        read_clubs(tmp_path / name, REGISTRY)
    assert len(str(raised.value).splitlines()) == 1


def test_clubs_share_what_they_bind_alike(folder):
    clubs = read_clubs(folder, REGISTRY)
    groups = [
        configuration.rulesets["evening"].groups for configuration in clubs.configurations.values()
    ]
    assert all(one.selector is groups[0][0].selector for (one,) in groups)


def test_a_club_waits_for_a_plugin_that_it_requires(folder):
    (folder / "birch.toml").write_text("[rulesets.evening]\nrequired = ['attic']\n")
    broken = Plugin(name="attic", version="1", status="failed", error="ImportError: no")
    for registry in (REGISTRY, Registry(plugins=(*REGISTRY.plugins, broken))):
        clubs = read_clubs(folder, registry)
        assert (clubs.waiting, clubs.faults) == ({"birch"}, {})


def check(capsys, *arguments):
    status = main(["config", "check", *map(str, arguments)])
    return status, *capsys.readouterr()


def test_a_name_that_is_too_long_is_one_line(tmp_path, capsys):
    file = tmp_path / "tokens"
    file.write_text(make_token("app")[1])
    for more in ((), ("--tokens", file)):
        status, _, err = check(capsys, "x" * 5000, *more)
        assert (status, err.count("\n")) == (2, 1)
        assert "File name too long" in err
    with pytest.raises(ReadingError, match="File name too long"):
        read_callers(Settings(config="x" * 5000))


def test_command_describes_each_club(folder, capsys):
    status, out, err = check(capsys, folder)
    assert (status, err) == (0, "")
    assert [line for line in out.splitlines() if line.startswith("==")] == [
        "== alder.toml",
        "== birch.toml",
        "== cedar.toml",
    ]
    assert out.count("evening: An evening") == 3
    (folder / "birch.toml").write_text("[rulesets.evening]\nrequired = ['attic']\n")
    assert check(capsys, folder)[0] == 1


def test_command_names_every_fault_by_file_and_line(folder, capsys):
    (folder / "alder.toml").write_text("[rulesets.evening]\nbow = 1\n")
    (folder / "cedar.toml").write_text("[rulesets.evening]\n\nbow = 1\nhall = 1\n")
    status, out, err = check(capsys, folder)
    assert status == 2
    assert "== birch.toml" in out
    assert [line.partition(": is unknown")[0] for line in err.splitlines()] == [
        "drawmark: alder.toml: line 2: rulesets.evening.bow",
        "drawmark: cedar.toml: line 3: rulesets.evening.bow",
        "drawmark: cedar.toml: line 4: rulesets.evening.hall",
    ]


def test_command_tries_no_examples_on_a_folder(folder, capsys):
    status, _, err = check(capsys, folder, "--try", "members.ndjson")
    assert (status, err) == (2, "drawmark: --try takes the file of one club, not a folder\n")


TOKENS = {
    "all is well": (["club=alder", "club=birch rulesets=evening", "maintainer"], 0, ""),
    "no such rule set": (["club=alder", "club=birch rulesets=noon"], 2, "line 2: names a rule set"),
    "no such club": (["club=elm"], 2, "elm.toml: is missing"),
    "no club": (["club=alder", "rate=2"], 2, "line 2: names no club"),
}


@pytest.mark.parametrize(("words", "status", "said"), TOKENS.values(), ids=TOKENS)
def test_command_checks_tokens_too(folder, tmp_path, capsys, words, status, said):
    file = tmp_path / "tokens"
    lines = [make_token(f"n{at}", one.split())[1] for at, one in enumerate(words)]
    file.write_text("\n".join(lines))
    told = check(capsys, folder, "--tokens", file)
    assert told[0] == status
    assert said in told[2]
    assert len(told[2].splitlines()) == (1 if said else 0)


def test_command_checks_tokens_of_one_file(folder, tmp_path, capsys):
    file = tmp_path / "tokens"
    for words, status in ((["rulesets=evening"], 0), (["rulesets=noon"], 2), (["club=alder"], 2)):
        file.write_text(make_token("app", words)[1])
        told = check(capsys, folder / "alder.toml", "--tokens", file)
        assert told[0] == status
        assert ("line 1: names a" in told[2]) is (status == 2)
        assert words[0].split("=")[1] not in told[2].replace("alder.toml", "")
