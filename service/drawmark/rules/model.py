"""What a rule is, what it sees and what it may say."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Final, Literal, TypeAlias, get_args

import msgspec

from drawmark.fitting.columns import Real, Truth
from drawmark.fitting.facts import Facts
from drawmark.fitting.floors import Term
from drawmark.fitting.model import Archer, Arrow, Bow

Severity = Literal["note", "caution", "indeterminate", "stop"]
Verdict = Literal["pass", "caution", "indeterminate", "stop"]
MeasureKind = Literal[
    "length",
    "distance",
    "mass",
    "force",
    "mass_per_length",
    "frequency",
    "static_spine",
    "number",
    "percent",
]
Gift = Literal["floor", "ceiling", "finding"]

VERDICTS: Final[tuple[Verdict, ...]] = get_args(Verdict)
"""Verdicts by their precedence."""
PRECEDENCE: Final[dict[str, int]] = {
    "note": 0,
    **{verdict: place for place, verdict in enumerate(VERDICTS)},
}
CORE: Final = "core"
"""Name of the core among the plugins."""
ANYTHING: Final[frozenset[Gift]] = frozenset(("floor", "ceiling", "finding"))


class Measure(msgspec.Struct, frozen=True, gc=False):
    """A figure in SI with its dimension and the safe side of rounding it.

    Parameters
    ----------
    value : float or column
        The figure [SI].
    kind : MeasureKind
        What it measures.
    up, down : bool
        Never round down, or never up, at the resolution of the unit it is reported in.
    """

    value: Real
    kind: MeasureKind = "length"
    up: bool = False
    down: bool = False


class Floor(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The least usable length that a rule allows.

    Parameters
    ----------
    length : float or column
        Bottom of the nock slot to the end of the shaft, less a sliding collar [m].
    reason : str
        Why, in one sentence.
    id : str or None
        Name of the floor; the rule's own where None.
    terms : tuple of Term
        What it is the sum of; where there are none, the reason and the length stand for them.
    source : str or None
        Key of its source.
    when : bool or mask
        Where it holds: a floor whose condition is false is not set.
    """

    length: Real
    reason: str
    id: str | None = None
    terms: tuple[Term, ...] = ()
    source: str | None = None
    when: Truth = True


class Ceiling(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """The greatest arrow length that a rule allows; longer is a caution, never advice to cut.

    Parameters
    ----------
    length : float or column
        Arrow length [m].
    reason : str
        Why, in one sentence.
    id : str or None
        Name of the ceiling; the rule's own where None.
    source : str or None
        Key of its source.
    when : bool or mask
        Where it holds: a ceiling whose condition is false is not set.
    """

    length: Real
    reason: str
    id: str | None = None
    source: str | None = None
    when: Truth = True


class Finding(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Something a rule has to say.

    Parameters
    ----------
    severity : Severity
        How it bears on the verdict; a note never does.
    message : str
        One sentence in plain words. Figures go into `measured` and `limit`.
    when : bool or mask
        Where it holds: a finding whose condition is false is not made.
    measured, limit : Measure or None
        What was found and what it is held against.
    source : str or None
        Key of the source.
    fields : tuple of str
        Fields of the request that it is about.
    """

    severity: Severity
    message: str
    when: Truth = True
    measured: Measure | None = None
    limit: Measure | None = None
    source: str | None = None
    fields: tuple[str, ...] = ()


Said: TypeAlias = Floor | Ceiling | Finding


class Case(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What a rule sees: one fitting, or a column of fittings alike in which fields they have.

    Parameters
    ----------
    archer, bow, arrow : Archer, Bow, Arrow
        The request in SI; a part that was not given has None in every field.
    facts : Facts
        What the core worked out from them.
    settings : Any
        The plugin's settings in this rule set, an instance of the rule's `settings`.
    inputs : Any
        The plugin's part of `local` in the request, an instance of the rule's `inputs`.
    """

    archer: Archer
    bow: Bow
    arrow: Arrow
    facts: Facts
    settings: Any = None
    inputs: Any = None


Check: TypeAlias = Callable[[Case], Iterable[Said]]


@dataclass(frozen=True, kw_only=True, slots=True)
class Rule:
    """One rule.

    Parameters
    ----------
    id : str
        Name, kebab-case, unique in its plugin.
    title : str
        What it looks after, one sentence.
    check : Check
        Says floors, ceilings and findings of one case.
    needs : tuple of str
        Fields it cannot do without, dotted ("arrow.length", "facts.draw_weight", "local.position"
        for the rule's own inputs); alternatives with a bar
        ("arrow.mass|arrow.shaft.mass_per_length"). Where one is missing, the rule is not run
        and is listed as not checked.
    concerns : str or None
        Its subject: a field that is given, or a word that one may have
        ("archer.draw_control=clicker"); alternatives with a bar. Where it is absent, and the rule
        not required, the rule is not listed as not checked. Everybody where None.
    gives : frozenset of Gift
        What it may say: a rule that gives no floor cannot leave a length in doubt.
    check_many : Check or None
        The same over columns; without it `check` is called for each item.
    settings : type or None
        Dataclass of the plugin's settings, made by the club's configuration.
    inputs : type or None
        Dataclass of the plugin's part of a request.
    required : bool
        Where it cannot be evaluated the verdict is at least indeterminate.
    applies : callable or None
        Tells from the settings whether the rule is in force; always where None. Rules that are
        not in force are no part of the rule set.
    source : str or None
        Where the rule comes from.
    """

    id: str
    title: str
    check: Check
    needs: tuple[str, ...] = ()
    concerns: str | None = None
    gives: frozenset[Gift] = ANYTHING
    check_many: Check | None = None
    settings: type | None = None
    inputs: type | None = None
    required: bool = False
    applies: Callable[[Any], bool] | None = None
    source: str | None = None
