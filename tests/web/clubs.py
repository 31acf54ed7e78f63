"""Invented clubs of one service; every word of a club's own begins with its name."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

from drawmark import rules
from drawmark.rules.registry import Plugin, Registry
from drawmark.tokens import make_token
from drawmark.web import create_app
from drawmark.web.settings import Settings
from drawmark.web.wire.callers import Callers, read_callers
from drawmark.web.wire.installed_rules import core_rules
from rules.bench import plugin, rule, says

FIGURES = {"alder": "20.113", "birch": "20.779"}
"""Figures of each club's own floor [in]."""
FILE = """
default = "{club}-evening"

[rulesets.{club}-evening]
title = "{club} evening"
plugins = ["{club}-hall", "{club}-broken"]
required = ["{club}-hall/{club}-lacks", "club-file/{club}-weight"]

[rulesets.{club}-evening.settings.{club}-hall]
{club}_label = "{club} label"
{club}_length = "{figure} in"

[[rulesets.{club}-evening.rules]]
id = "{club}-weight"
fact = "draw_weight"
above = "10 lbf"
severity = "caution"
message = "{club} lends bows of 10 lbf."

[[rulesets.{club}-evening.rules]]
id = "{club}-floor"
floor = "{figure} in"
message = "{club} shoots no shorter arrows."

[rulesets.{club}-indoor]
title = "{club} indoor"
required = ["{club}-absent"]
"""


def plugins_of(club: str) -> tuple[Plugin, Plugin]:
    """A plugin that says much, and one that failed to load."""
    inputs = dataclasses.make_dataclass(
        "Inputs",
        [
            (f"{club}_lane", int, rules.whole(1, 9, f"{club} lane.")),
            (f"{club}_side", str, rules.choice((f"{club}-left",), f"{club} side.", default=None)),
        ],
        frozen=True,
    )
    settings = dataclasses.make_dataclass(
        "Settings",
        [
            (f"{club}_label", str, rules.text(30, f"{club} label.")),
            (f"{club}_length", float, rules.length(0.3, 1.0, f"{club} length.")),
        ],
        frozen=True,
    )

    def fails(case: Any) -> Any:
        raise RuntimeError(f"{club} fails")

    made = [
        dataclasses.replace(one, title=f"{club} title.", settings=settings, inputs=inputs)
        for one in (
            rule(says(rules.caution(f"{club} hall says so.")), f"{club}-says"),
            rule(
                says(rules.floor(0.51, f"{club} hall asks for it.", id=f"{club}-stand")),
                f"{club}-asks",
                source=f"{club} rules",
            ),
            rule(fails, f"{club}-fails", gives=frozenset({"finding"})),
            rule(says(), f"{club}-lacks", needs=("arrow.balance_point",)),
        )
    ]
    broken = Plugin(
        name=f"{club}-broken", version=f"1+{club}", status="failed", error=f"{club} error"
    )
    return plugin(*made, name=f"{club}-hall", version=f"2+{club}"), broken


CORE = core_rules().registry.plugins
REGISTRY = Registry(plugins=(*CORE, *plugins_of("alder"), *plugins_of("birch")))


def text_of(name: str, text: str = FILE) -> str:
    return text.format(club=name, figure=FIGURES.get(name, "20"))


class Federation:
    """A folder of clubs' files, or one file, and a file of tokens."""

    def __init__(self, folder: Path, is_folder: bool = True) -> None:
        self.folder, self.tokens = folder / "clubs", folder / "tokens"
        if is_folder:
            self.folder.mkdir()
        self.sent: dict[str, dict[str, str]] = {}

    def club(self, name: str, text: str = FILE) -> None:
        (self.folder / f"{name}.toml").write_text(text_of(name, text))

    def in_one_file(self, *names: str) -> None:
        """Write the rule sets of several clubs into one file."""
        texts = [text_of(name).split("\n", 2) for name in names]
        self.folder.write_text("\n".join([texts[0][1], *(text for _, _, text in texts)]))

    def token(self, name: str, *words: str) -> None:
        """Add a token; its headers are kept under its name."""
        token, line = make_token(name, words)
        with self.tokens.open("a") as file:
            file.write(f"{line}\n")
        self.sent[name] = {"Authorization": f"Bearer {token}"}

    def settings(self, **more: Any) -> Settings:
        return Settings(config=str(self.folder), tokens_file=str(self.tokens), **more)

    def callers(self, before: Callers | None = None, **more: Any) -> Callers:
        return read_callers(self.settings(**more), registry=REGISTRY, before=before)

    def client(self, **more: Any) -> Any:
        settings = self.settings(**more)
        return create_app(settings, self.callers(**more)).test_client()
