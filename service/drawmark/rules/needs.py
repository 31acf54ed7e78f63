"""Which fields a rule cannot do without, and whether a case has them."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from operator import attrgetter
from typing import Final

from drawmark.fitting.facts import Facts
from drawmark.fitting.fields import Choice, Part, spec_of, specs_of
from drawmark.fitting.model import DRAW, Archer, Arrow, Bow
from drawmark.rules.model import Case

Presences = Callable[[Case], tuple[bool, ...]]

_PARTS: Final[dict[str, type]] = {"archer": Archer, "bow": Bow, "arrow": Arrow}
_FACTS: Final = frozenset(Facts.__struct_fields__)
FACT_FIELDS: Final[dict[str, tuple[str, ...]]] = {
    "variation": ("archer.draws|archer.draw_variation",),
    "count": ("archer.draws|archer.draw_count",),
    "usable_length": ("arrow.length",),
    "draw_weight": ("bow.draw_weight", "bow.draw_weight_basis"),
    "arrow_mass": (
        "arrow.mass|arrow.shaft.mass_per_length",
        "arrow.mass|arrow.point.mass",
        "arrow.mass|arrow.length",
    ),
    "front_of_centre": (
        "arrow.length",
        "arrow.balance_point|arrow.shaft.mass_per_length",
        "arrow.balance_point|arrow.point.mass",
    ),
    "launch_load": (
        "arrow.length",
        "arrow.shaft.static_spine",
        "arrow.shaft.mass_per_length",
        "arrow.point.mass",
        "bow.draw_weight",
    ),
}
"""Fields of a request that let the core work out a fact, all of them; of any other, the draw."""


def explain_need(need: str, inputs: type | None) -> str | None:
    """Say what is wrong with a need; None where it names fields of the model.

    Parameters
    ----------
    need : str
        Dotted path, or alternatives with bars between them.
    inputs : type or None
        Dataclass of the rule's inputs.

    Returns
    -------
    str or None
        The fault in words.
    """
    for path in need.split("|"):
        head, *rest = path.split(".")
        if head == "facts":
            known = len(rest) == 1 and rest[0] in _FACTS
        elif head == "local":
            known = inputs is not None and (not rest or _is_field(inputs, rest))
        else:
            known = head in _PARTS and (not rest or _is_field(_PARTS[head], rest))
        if not known:
            return f"{path!r} is no field of a fitting, of the facts or of the rule's inputs"
    return None


def explain_subject(subject: str, inputs: type | None) -> str | None:
    """Say what is wrong with the subject of a rule; None where fields or their words name it.

    Parameters
    ----------
    subject : str
        Dotted path, with a word or without, or alternatives with bars between them.
    inputs : type or None
        Dataclass of the rule's inputs.

    Returns
    -------
    str or None
        The fault in words.
    """
    for one in subject.split("|"):
        path, sign, word = one.partition("=")
        if fault := explain_need(path, inputs):
            return fault
        if sign and word not in _words_of(path):
            return f"{one!r} is no word that a field of a fitting has"
    return None


def _words_of(path: str) -> tuple[str, ...]:
    head, *rest = path.split(".")
    cls = _PARTS.get(head)
    for name in rest[:-1]:
        spec = None if cls is None else specs_of(cls)[name]
        cls = spec.cls if isinstance(spec, Part) else None
    spec = None if cls is None or not rest else specs_of(cls)[rest[-1]]
    return spec.choices if isinstance(spec, Choice) else ()


def _is_field(cls: type, path: list[str]) -> bool:
    for field in dataclasses.fields(cls):
        if field.name == path[0]:
            if len(path) == 1:
                return True
            spec = spec_of(field)
            return isinstance(spec, Part) and not spec.is_list and _is_field(spec.cls, path[1:])
    return False


def compile_needs(needs: Sequence[str]) -> Presences:
    """Make the question which of some needs a case meets.

    Every evaluation asks it, so it is one expression and no chain of calls. The needs must be
    known to be sound: see `explain_need` and `explain_subject`.

    Parameters
    ----------
    needs : sequence of str
        Dotted paths, or alternatives with bars between them.

    Returns
    -------
    callable
        Takes a case; gives a truth value for each need.
    """
    readers = {name: _reader(part) for name, part in _PARTS.items()}
    questions = [" or ".join(map(_expression, need.split("|"))) for need in needs]
    asked: Presences = eval(f"lambda case: ({''.join(one + ', ' for one in questions)})", readers)
    return asked


def _expression(path: str) -> str:
    path, sign, word = path.partition("=")
    if sign:
        # A word that was not given may be this one.
        return f"(not {_expression(path)} or case.{path} == {word!r})"
    if path in _PARTS:
        # A part that was not given stands in the case with nothing in it.
        return f"any([value is not None for value in {path}(case.{path})])"
    names = path.split(".")
    if not all(name.isidentifier() for name in names):
        raise ValueError(f"{path!r} is no dotted path")
    if names[0] == "local":
        names[0] = "inputs"
    # Archer, bow, arrow and facts are always there; what lies below them may not be.
    first = 1 if names[0] == "inputs" else 2
    steps = [".".join(names[:count]) for count in range(first, len(names) + 1)]
    return "(" + " and ".join(f"case.{step} is not None" for step in steps) + ")"


def _reader(cls: type) -> Callable[[object], tuple[object, ...]]:
    return attrgetter(*(field.name for field in dataclasses.fields(cls)))


def is_fact(need: str) -> bool:
    """Tell whether a need is one figure that the core works out."""
    return need.startswith("facts.") and "|" not in need


def fields_behind(need: str, plugin: str) -> tuple[str, ...]:
    """Name the fields of a request that would meet a need.

    Parameters
    ----------
    need : str
        The need.
    plugin : str
        Name of the plugin, for its part of `local`.

    Returns
    -------
    tuple of str
        Dotted fields; alternatives with bars between them.
    """
    if is_fact(need):
        return FACT_FIELDS.get(need.removeprefix("facts."), (DRAW,))
    paths: list[str] = []
    for path in need.split("|"):
        head, _, rest = path.partition(".")
        if head == "local":
            paths.append(".".join(filter(None, ("local", plugin, rest))))
        elif head == "facts":
            paths.extend(FACT_FIELDS.get(rest, (DRAW,)))
        else:
            paths.append(path)
    return ("|".join(paths),)
