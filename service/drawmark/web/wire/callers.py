"""Who may ask, and what each of them sees: rule sets and their plugins, and no others."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from os.path import isdir
from typing import Final

from flask.globals import request_ctx

from drawmark.rules import registry as plugins
from drawmark.rules.club_folder import Clubs, read_clubs
from drawmark.rules.configuration import Configuration
from drawmark.rules.registry import Registry
from drawmark.tokens import Token, Tokens, read_tokens
from drawmark.web.settings import SettingError, Settings
from drawmark.web.wire.installed_rules import Rules, installed_rules

CALLER: Final = "drawmark.caller"
"""Where the request's environment holds its caller."""
NO_RULE_SETS: Final = Configuration(rulesets={}, default="")
_NO_TOKEN: Final = Token(name="")


@dataclass(frozen=True, kw_only=True, slots=True)
class Caller:
    """Somebody who may ask.

    Parameters
    ----------
    token : Token
        What the file of tokens says of it.
    rules : Rules or None
        What it sees; None where the configuration has a fault, so that nothing can be answered.
    sees_all : bool
        It may see the figures of the whole service.
    """

    token: Token
    rules: Rules | None
    sees_all: bool = False


class Callers:
    """Everybody who may ask.

    Parameters
    ----------
    installed : Rules
        All plugins, and the rule sets where all are in one file.
    tokens : Tokens or None
        The file of tokens; None where nobody needs one.
    by_name : mapping
        Names of tokens to their callers.
    clubs : Clubs or None
        The clubs, where each has a file of its own.
    faults : iterable of str
        What is wrong with lines of the file of tokens; their callers are answered nothing.
    """

    def __init__(
        self,
        installed: Rules,
        tokens: Tokens | None = None,
        by_name: Mapping[str, Caller] | None = None,
        clubs: Clubs | None = None,
        faults: Iterable[str] = (),
    ) -> None:
        self.installed, self.clubs, self.faults = installed, clubs, tuple(faults)
        self._tokens, self._by_name = tokens, by_name or {}
        self.need_token = tokens is not None
        self.are_apart = clubs is not None or any(
            one.token.rulesets for one in self._by_name.values()
        )
        """Whether some must not see what others use."""
        seen = Rules.within(installed.registry, NO_RULE_SETS) if self.are_apart else installed
        self.anyone = Caller(token=_NO_TOKEN, rules=seen, sees_all=not self.are_apart)
        """Whoever sends no token."""

    def find(self, authorization: str) -> Caller | None:
        """Find the caller by an Authorization header; None if a token is missing or unknown."""
        if self._tokens is None:
            return self.anyone
        token = self._tokens.find(authorization)
        return None if token is None else self._by_name[token.name]

    def __iter__(self) -> Iterator[Caller]:
        """Give everybody who may ask."""
        yield self.anyone
        yield from self._by_name.values()

    @property
    def missing(self) -> int:
        """How many plugins are required somewhere and not active."""
        own = self.installed.configuration
        several = [own] if self.clubs is None else self.clubs.configurations.values()
        return len({plugin.name for one in several for plugin in one.missing})


def read_callers(
    settings: Settings,
    rules: Rules | None = None,
    registry: Registry | None = None,
    before: Callers | None = None,
) -> Callers:
    """Read tokens and configuration, unless rules are given; UserError if they have faults.

    A fault in the file of a club harms that club alone, and what was read `before` of it stays.
    """
    tokens = read_tokens(settings.tokens_file) if settings.tokens_file else None
    if rules is None and settings.config and isdir(settings.config):
        if tokens is None:
            raise SettingError(
                f"DRAWMARK_CONFIG {settings.config} is a folder of clubs' files: set "
                "DRAWMARK_TOKENS_FILE too, since a token says to which club its caller belongs"
            )
        known = None if before is None else before.clubs
        return _callers_of_clubs(settings.config, tokens, registry or plugins.load(), known)
    return _callers_of_one_file(rules or installed_rules(settings.config, registry), tokens)


def _callers_of_one_file(rules: Rules, tokens: Tokens | None) -> Callers:
    if tokens is None:
        return Callers(rules)
    shared: dict[tuple[str, ...], Rules] = {(): rules}
    by_name = {}
    for token in tokens.by_digest.values():
        names = token.rulesets
        if token.club:
            detail = "names a club, but DRAWMARK_CONFIG is not a folder of clubs' files"
            raise tokens.fault(token, detail)
        if names not in shared:
            if not rules.configuration.rulesets.keys() >= set(names):
                detail = "names a rule set that the configuration does not have"
                raise tokens.fault(token, detail)
            limited = rules.configuration.limited_to(names)
            shared[names] = Rules.within(rules.registry, limited)
        by_name[token.name] = Caller(token=token, rules=shared[names], sees_all=not names)
    return Callers(rules, tokens, by_name)


def _callers_of_clubs(
    folder: str, tokens: Tokens, registry: Registry, before: Clubs | None
) -> Callers:
    for token in tokens.by_digest.values():
        if not (token.club or token.maintainer):
            detail = "names no club, and DRAWMARK_CONFIG is a folder of clubs' files: add club=NAME"
            raise tokens.fault(token, detail)
    expected = {token.club for token in tokens.by_digest.values() if token.club}
    clubs = read_clubs(folder, registry, expected, before)
    installed = Rules(registry=registry, configuration=NO_RULE_SETS)
    shared: dict[tuple[str, tuple[str, ...]], Rules | None] = {("", ()): installed}
    by_name, faults = {}, []
    for token in tokens.by_digest.values():
        key = (token.club, token.rulesets)
        if key not in shared:
            shared[key] = _seen(clubs.configurations.get(token.club), token, registry)
        if shared[key] is None and token.club in clubs.configurations:
            detail = "names a rule set that its club's file does not have"
            faults.append(str(tokens.fault(token, detail)))
        by_name[token.name] = Caller(token=token, rules=shared[key], sees_all=token.maintainer)
    return Callers(installed, tokens, by_name, clubs, faults)


def _seen(configuration: Configuration | None, token: Token, registry: Registry) -> Rules | None:
    """Give what a token of a club sees."""
    if configuration is None or not configuration.rulesets.keys() >= set(token.rulesets):
        return None
    if token.rulesets:
        configuration = configuration.limited_to(token.rulesets)
    return Rules.within(registry, configuration)


def caller_of_request() -> Caller:
    """Give the caller of this thread's request."""
    caller: Caller = request_ctx.request.environ[CALLER]
    return caller


def rules_of_request() -> Rules:
    """Give what the caller of this thread's request sees."""
    rules = caller_of_request().rules
    assert rules is not None, "the gateway passes on nobody without rules"
    return rules
