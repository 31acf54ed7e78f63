"""Rules that a club states in its file, without a programmer.

[[rulesets.evening.rules]]
id = "bow-weight"
fact = "draw_weight"
above = "24 lbf"
severity = "stop"
message = "Our hall lends bows of at most 24 lbf. Use a lighter bow."
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final, get_args

from drawmark.fitting import limits
from drawmark.fitting.columns import Real
from drawmark.fitting.field_kinds import Number, Quantity
from drawmark.fitting.floors import Term
from drawmark.fitting.units import INCH, UNITS
from drawmark.rules.bound_rule import BoundRule
from drawmark.rules.declarations import MOST_RULES, is_name
from drawmark.rules.model import (
    Case,
    Ceiling,
    Check,
    Finding,
    Floor,
    Gift,
    Measure,
    Rule,
    Said,
    Severity,
)
from drawmark.rules.outcome import sentence
from drawmark.rules.text_values import Fault, ReadingError, read_quantity
from drawmark.rules.validation import is_text
from drawmark.rules.vocabulary import VOCABULARY, Figure, Word

CLUB_FILE: Final = "club-file"
"""Stands as the plugin of the rules that the club's file states."""
SEVERITIES: Final[tuple[Severity, ...]] = get_args(Severity)
SOURCE: Final = "the club's file"


_LENGTH: Final = Quantity(doc="", dimension="length", low=12 * INCH, high=47 * INCH)
_PAST_BACK: Final = Quantity(doc="", dimension="length", low=0.0, high=8 * INCH)
LENGTHS: Final = {
    "floor": _LENGTH,
    "floor_past_back": _PAST_BACK,
    "ceiling": _LENGTH,
    "ceiling_past_back": _PAST_BACK,
}
"""Keys of a rule about the arrow's length, and what each accepts."""
COMPARISONS: Final = ("above", "below", "among")
MEMBERS: Final = ("id", "message", *LENGTHS, "fact", *COMPARISONS, "severity")


def stated_rules(entries: object, key: str, faults: list[Fault]) -> tuple[Rule, ...]:
    """Make the rules that a rule set states; what is wrong with them goes to the faults."""
    if not isinstance(entries, list) or not all(isinstance(one, dict) for one in entries):
        faults.append(Fault(key, f"is not a list of tables: write [[{key}]] above each rule"))
        return ()
    if len(entries) > MOST_RULES:
        faults.append(Fault(key, f"has more than {MOST_RULES} rules"))
        return ()
    made: list[Rule] = []
    for place, entry in enumerate(entries):
        try:
            rule = _Statement(entry, f"{key}.{place}").rule()
        except ReadingError as error:
            faults.extend(error.faults)
            continue
        if rule.id in [one.id for one in made]:
            faults.append(Fault(f"{key}.{place}.id", f"{rule.id!r} is named twice"))
        made.append(rule)
    return tuple(made)


def bind_stated(
    entries: object, rules: Iterable[Rule], required: frozenset[str]
) -> Iterator[BoundRule]:
    """Put stated rules in force; their version changes with what the file says."""
    version = hashlib.sha256(repr(entries).encode()).hexdigest()[:12]
    for rule in rules:
        yield BoundRule(plugin=CLUB_FILE, version=version, rule=rule, required=rule.id in required)


class _Statement:
    """One table of the club's file, read into a rule."""

    def __init__(self, entry: Mapping[str, Any], key: str) -> None:
        self.entry, self.key = entry, key
        self.faults = [
            Fault(f"{key}.{name}", f"is unknown; use {', '.join(MEMBERS)}")
            for name in entry
            if name not in MEMBERS
        ]

    def fault(self, member: str, detail: str) -> None:
        self.faults.append(Fault(f"{self.key}.{member}" if member else self.key, detail))

    def rule(self) -> Rule:
        name, message = self.entry.get("id"), self.entry.get("message")
        if not is_name(name):
            self.fault(
                "id" if "id" in self.entry else "", "needs an id: lower-case words with hyphens"
            )
        if not is_text(message) or not message:
            self.fault(
                "message" if "message" in self.entry else "",
                "needs a message: what the archer is to be told",
            )
        subjects = [member for member in (*LENGTHS, "fact") if member in self.entry]
        if len(subjects) != 1:
            self.fault("", f"needs exactly one of {', '.join((*LENGTHS, 'fact'))}")
            raise ReadingError(*self.faults)
        (subject,) = subjects
        title, check, gift, needs = (
            self._limit(message) if subject == "fact" else self._length(subject, message)
        )
        if self.faults:
            raise ReadingError(*self.faults)
        return Rule(
            id=str(name),
            title=title,
            check=check,
            check_many=check,
            needs=needs,
            gives=frozenset((gift,)),
            source=SOURCE,
        )

    def _length(self, member: str, message: Any) -> tuple[str, Check, Gift, tuple[str, ...]]:
        for other in (*COMPARISONS, "severity"):
            if other in self.entry:
                self.fault(other, f"does not go with {member}")
        length = self._figure(LENGTHS[member], member)
        past = member.endswith("_past_back")
        gift: Gift = "floor" if member.startswith("floor") else "ceiling"
        bound = "at least" if gift == "floor" else "at most"
        where = " past the back of the bow at full draw" if past else ""
        title = f"The arrow reaches {bound} {self.entry[member]}{where}."
        if not past:
            title = f"The arrow is {bound} {self.entry[member]} long."

        def check(case: Case) -> Iterable[Said]:
            terms = tuple(_terms(case, length)) if past else (Term("the club's length", length),)
            total: Real = 0.0
            for term in terms:
                total = total + term.value
            if gift == "floor":
                return [Floor(length=total, reason=message, terms=terms, source=SOURCE)]
            return [Ceiling(length=total, reason=message, source=SOURCE)]

        return title, check, gift, ()

    def _limit(self, message: Any) -> tuple[str, Check, Gift, tuple[str, ...]]:
        severity = self.entry.get("severity")
        if severity not in SEVERITIES:
            self.fault("severity" if severity else "", f"needs a severity: {', '.join(SEVERITIES)}")
        fact = VOCABULARY.get(str(self.entry["fact"]))
        if fact is None:
            self.fault("fact", f"is {self.entry['fact']!r}, not one of {', '.join(VOCABULARY)}")
            raise ReadingError(*self.faults)
        known = ("among",) if isinstance(fact, Word) else ("above", "below")
        given = [member for member in COMPARISONS if member in self.entry]
        if len(given) != 1 or given[0] not in known:
            self.fault("", f"needs exactly one of {', '.join(known)} beside {self.entry['fact']}")
            raise ReadingError(*self.faults)
        (comparison,) = given
        written = self.entry[comparison]
        if isinstance(fact, Word):
            words = self._words(fact, written)
            title = sentence(f"{fact.words}: not {' or '.join(words)}")
            return title, _refuse(fact, words, severity, message), "finding", fact.needs
        if severity == "stop" and comparison == fact.ends:
            self.fault("severity", "cannot be stop: a longer draw would end it; use caution")
        limit = self._figure(fact.spec, comparison)
        title = sentence(f"{fact.words}: not {comparison} {written}")
        # A larger figure of some units is a smaller value.
        unit = UNITS.get(str(written).split()[-1]) if str(written).split() else None
        above = (comparison == "above") is not (unit is not None and unit.reciprocal)
        return title, _hold(fact, above, limit, severity, message), "finding", fact.needs

    def _figure(self, spec: Number, member: str) -> float:
        written, key = self.entry[member], f"{self.key}.{member}"
        try:
            if isinstance(spec, Quantity):
                return read_quantity(spec, written, key)
        except ReadingError as error:
            self.faults.extend(error.faults)
            return 0.0
        if (detail := spec.fault_in(written)) is not None:
            self.fault(member, detail)
            return 0.0
        return float(written)

    def _words(self, fact: Word, written: object) -> tuple[str, ...]:
        words = written if isinstance(written, list) else [written]
        for word in words:
            if word not in fact.choices:
                self.fault("among", f"has {word!r}, not one of {', '.join(fact.choices)}")
        if not words:
            self.fault("among", "is empty: name at least one word")
        return tuple(map(str, words))


def _terms(case: Case, margin: float) -> Iterator[Term]:
    facts = case.facts
    yield Term("draw to the pivot point", facts.draw)
    if facts.estimated:
        yield Term("margin for an estimated draw", limits.ARM_SPAN_MARGIN, "project-margin")
    yield Term("growth allowance", facts.growth)
    yield Term("back of the bow", facts.back)
    yield Term("the club's margin", margin)


def _hold(figure: Figure, above: bool, limit: float, severity: Any, message: Any) -> Check:
    def check(case: Case) -> Iterable[Said]:
        value = figure.greatest(case) if above else figure.least(case)
        return [
            Finding(
                severity=severity,
                message=message,
                when=limits.more(value, limit) if above else limits.less(value, limit),
                measured=Measure(value, figure.kind),
                limit=Measure(limit, figure.kind, up=not above, down=above),
                source=SOURCE,
            )
        ]

    return check


def _refuse(word: Word, refused: tuple[str, ...], severity: Any, message: Any) -> Check:
    def check(case: Case) -> Iterable[Said]:
        when = any(value in refused for value in word.values(case))
        return [Finding(severity=severity, message=message, when=when, source=SOURCE)]

    return check
