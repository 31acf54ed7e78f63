"""Answers items: what is alike in columns, the rest one by one."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from drawmark import __version__
from drawmark.answers.common.context import Context
from drawmark.answers.common.fit_check_columns import check_all
from drawmark.fitting.columns import Mask, MixedError, Whole
from drawmark.fitting.model import Fault, Fitting, FittingError
from drawmark.rules.model import VERDICTS
from drawmark.web.batch.columns import Sheet
from drawmark.web.batch.read_items import Items
from drawmark.web.batch.single_item import Tally, answer_alone
from drawmark.web.batch.templates import word_checks
from drawmark.web.metrics import metrics_of_process
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.problems import ProblemError

FEWEST: Final = 8
"""Fewer items than this are faster one by one."""
MOST_TOGETHER: Final = 2000
"""More items than this are parted: a rule's time limit is the same for one and for all of them."""
log = logging.getLogger("drawmark")


@dataclass(slots=True)
class _Answers:
    """The entries of some items, as they come in; and which of them are left over."""

    entries: list[bytes]
    left: list[int] = field(default_factory=list)
    refused: set[int] = field(default_factory=set)


def answer_items(items: Items, operation: Operation, tally: Tally) -> list[bytes]:
    """Answer items in their order.

    Parameters
    ----------
    items : Items
        The items.
    operation : Operation
        The fit check of one item.
    tally : Tally
        What was answered before; it is counted on.

    Returns
    -------
    list of bytes
        An entry for each item, with a result or a problem.
    """
    size = len(items.structs)
    answers = _Answers(entries=[b""] * size)
    _answer_alike(items, operation, tally.items, answers)
    for place in sorted(answers.left):
        text = items.text_of(place)
        refused = place in answers.refused or items.structs[place] is None
        entry = answer_alone(text, operation, tally, tally.items + place, refused)
        answers.entries[place] = entry
    tally.items += size
    return answers.entries


def _answer_alike(items: Items, operation: Operation, start: int, answers: _Answers) -> None:
    brief = [
        place
        for place, struct in enumerate(items.structs)
        if struct is not None and struct.detail == "verdict"
    ]
    whole = len(brief) == len(items.structs)
    if not whole:
        answers.left += sorted(set(range(len(items.structs))).difference(brief))
    if len(brief) < FEWEST:
        answers.left += brief
        return
    structs = items.structs if whole else [items.structs[place] for place in brief]
    sheet = Sheet(structs, operation.module.Request, tuple(operation.rules.inputs.items()))
    answers.left += [brief[place] for place in np.flatnonzero(sheet.apart).tolist()]
    answers.refused.update(brief[place] for place in np.flatnonzero(sheet.out_of_range).tolist())
    waiting = sheet.groups()
    while waiting:
        group = waiting.pop()
        places = [brief[place] for place in group.tolist()]
        if len(places) < FEWEST:
            answers.left += places
            continue
        if len(places) > MOST_TOGETHER:
            waiting += np.array_split(group, -(-len(places) // MOST_TOGETHER))
            continue
        try:
            with np.errstate(divide="raise", over="raise", invalid="raise"):
                entries = _check_group(sheet, group, structs, operation, start, places)
        except MixedError as mixed:
            waiting += [group[mixed.condition], group[~mixed.condition]]
        except FittingError as error:
            wrong = _where_wrong(error.faults, len(group))
            answers.left += (refused := [brief[place] for place in group[wrong].tolist()])
            answers.refused.update(refused)
            waiting += [group[~wrong]]
        except ProblemError:
            answers.left += places
            answers.refused.update(places)
        except Exception:
            log.warning("items of a batch are answered one by one", exc_info=True)
            answers.left += places
        else:
            for place, entry in zip(places, entries, strict=True):
                answers.entries[place] = entry


def _check_group(
    sheet: Sheet,
    group: Whole,
    structs: list[Any],
    operation: Operation,
    start: int,
    places: list[int],
) -> list[bytes]:
    request = sheet.instance(operation.module.Request, group)
    operation.require_needs(request)
    context = Context(
        ruleset=operation.ruleset_of(sheet.word(("ruleset",), group)),
        local=sheet.local(group),
        detail="verdict",
        engine=__version__,
    )
    fitting = Fitting(archer=request.archer, bow=request.bow, arrow=request.arrow)
    checks = check_all(fitting, request.saw_increment, len(group), context)
    entries = word_checks(
        checks,
        lambda dimension: sheet.units.of(dimension, group),
        [start + place for place in places],
        [structs[place].id for place in group.tolist()],
    )
    numbers = np.bincount(checks.outcome.severities, minlength=len(VERDICTS)).tolist()
    metrics_of_process().count_verdicts(dict(zip(VERDICTS, numbers, strict=True)))
    return entries


def _where_wrong(faults: Iterable[Fault], size: int) -> Mask:
    wrong = np.zeros(size, dtype=np.bool_)
    for fault in faults:
        wrong |= fault.when
    return wrong if wrong.any() else ~wrong
