"""For authors of plugins: fittings in a line, judgements as tables, and the conformance check.

    from drawmark.rules import testing
    import my_plugin

    HALL = testing.plugin(my_plugin, "our-hall")


    def test_short_arrows_are_stopped():
        outcome = testing.judge(HALL, arrow={"length": "26 in"})
        assert outcome.verdict == "stop"


    def test_conformance():
        testing.conform(HALL)

Quantities are texts such as "28.5 in"; the words are those of a request.
"""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from typing import Any, Final

from drawmark.fitting.model import Archer, Arrow, Bow, Fitting
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.conformance import conform
from drawmark.rules.evaluate import evaluate
from drawmark.rules.hook import RuleError
from drawmark.rules.outcome import Outcome
from drawmark.rules.registry import Plugin, load, register
from drawmark.rules.rule_set import RuleSet, bind
from drawmark.rules.text_values import read

__all__ = ["conform", "fitting", "judge", "plugin", "ruleset"]

_ARCHER: Final = {"draw_length": "28 in", "draw_length_convention": "standard"}
_BOW: Final = {"kind": "recurve"}
_ARROW: Final = {"length": "30 in"}


def plugin(module: Any, name: str | None = None) -> Plugin:
    """Take a plugin as the service would.

    Parameters
    ----------
    module : Any
        The module with the hook, or the name of an installed plugin.
    name : str or None
        Name of its entry point; needed with a module.

    Returns
    -------
    Plugin
        Active.

    Raises
    ------
    AssertionError
        If the service would not load it, with the reason.
    """
    if isinstance(module, str):
        found = load().find(module)
        assert found is not None, f"{module} is not installed"
        assert found.status == "active", f"{module} failed to load: {found.error}"
        return found
    try:
        return register(name or "under-test", "0", module)
    except RuleError as error:
        raise AssertionError(f"the service would not load it: {error}") from error


def ruleset(*plugins: Plugin, settings: Mapping[str, object] | None = None) -> RuleSet:
    """Make a rule set of plugins; `settings` are those of the first, as a club writes them."""
    rules: list[BoundRule] = []
    for place, one in enumerate(plugins):
        written = settings if settings is not None and place == 0 else {}
        made = None if one.settings is None else read(one.settings, written, "settings")
        rules += bind(one, made)
    return RuleSet(name="under-test", title="Rules under test", rules=tuple(rules))


def fitting(
    *,
    archer: Mapping[str, object] | None = None,
    bow: Mapping[str, object] | None = None,
    arrow: Mapping[str, object] | None = None,
) -> Fitting:
    """Make a fitting: a 28 in draw, a recurve bow, a 30 in arrow, and what is given over it.

    Parameters
    ----------
    archer, bow, arrow : mapping
        Words of a request; quantities as texts; None takes a word of the usual fitting out.

    Returns
    -------
    Fitting
        In SI.

    Raises
    ------
    ReadingError
        If a word is unknown or a value out of range.
    """
    return Fitting(
        archer=_read_over(Archer, _ARCHER, archer, "archer"),
        bow=_read_over(Bow, _BOW, bow, "bow"),
        arrow=_read_over(Arrow, _ARROW, arrow, "arrow"),
    )


def _read_over(cls: type, usual: Mapping[str, object], given: Any, key: str) -> Any:
    table = {**usual, **(given or {})}
    return read(cls, {name: value for name, value in table.items() if value is not None}, key)


def judge(
    plugin: Plugin,
    *,
    settings: Mapping[str, object] | None = None,
    inputs: Mapping[str, object] | None = None,
    archer: Mapping[str, object] | None = None,
    bow: Mapping[str, object] | None = None,
    arrow: Mapping[str, object] | None = None,
    local: Mapping[str, object] | None = None,
) -> Outcome:
    """Ask only this plugin's rules about a fitting.

    Parameters
    ----------
    plugin : Plugin
        The plugin.
    settings : mapping
        Its settings, as a club writes them.
    inputs : mapping
        Its own part of the request.
    archer, bow, arrow : mapping
        As for `fitting`.
    local : mapping
        The same as `inputs`, under its older name.

    Returns
    -------
    Outcome
        What the rules said, and the verdict.
    """
    if local is not None:
        warnings.warn("Use inputs in place of local.", DeprecationWarning, stacklevel=2)
        inputs = local
    given: dict[str, object] = {}
    if inputs is not None:
        assert plugin.inputs is not None, f"{plugin.name} takes no inputs"
        given[plugin.name] = read(plugin.inputs, inputs, f"local.{plugin.name}")
    case = fitting(archer=archer, bow=bow, arrow=arrow)
    return evaluate(case, ruleset(plugin, settings=settings), given)
