"""Answers items: those that are alike in columns, the rest one by one."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from functools import cache
from typing import Any, Final

import numpy as np

from drawmark import __version__
from drawmark.answers.common.context import Context
from drawmark.answers.common.fit_check_columns import check_all
from drawmark.deadline import deadline
from drawmark.fitting.columns import Mask, MixedError, Whole
from drawmark.fitting.faults import Fault, FittingError
from drawmark.fitting.model import Fitting
from drawmark.rules.model import VERDICTS
from drawmark.web.batch.columns import Columns
from drawmark.web.batch.read_items import Items
from drawmark.web.batch.single_item import Progress, answer_item
from drawmark.web.batch.templates import write_checks
from drawmark.web.metrics import metrics_of_process
from drawmark.web.wire.operation import Operation
from drawmark.web.wire.problems import ProblemError

SMALLEST_GROUP: Final = 8
"""Fewer items than this are faster one by one."""
LARGEST_GROUP: Final = 2000
"""More items than this are split: a rule has the same time limit for one item as for all."""
log = logging.getLogger("drawmark")


def answer_items(items: Items, operation: Operation, progress: Progress) -> list[bytes]:
    """Give an entry for each item, in order, with a result or a problem."""
    structs, start = items.structs, progress.items
    entries = [b""] * len(structs)
    refused = _answer_in_columns(structs, operation, start, entries)
    for place, entry in enumerate(entries):
        if not entry:
            deadline.check()
            known = place in refused or structs[place] is None
            text = items.text_of(place)
            entries[place] = answer_item(text, operation, progress, start + place, known)
    progress.items += len(entries)
    return entries


def _answer_in_columns(
    structs: list[Any], operation: Operation, start: int, entries: list[bytes]
) -> set[int]:
    """Fill in the entries of items that are alike; give the places of what must be refused."""
    brief = [
        place
        for place, struct in enumerate(structs)
        if struct is not None and struct.detail == "verdict"
    ]
    if len(brief) < SMALLEST_GROUP:
        return set()
    chosen = [structs[place] for place in brief]
    columns = Columns(chosen, operation.module.Request, operation.inputs)
    refused = np.flatnonzero(columns.out_of_range).tolist()
    waiting = columns.groups()
    while waiting:
        group = waiting.pop()
        if len(group) < SMALLEST_GROUP:
            continue
        if len(group) > LARGEST_GROUP:
            waiting += np.array_split(group, -(-len(group) // LARGEST_GROUP))
            continue
        items = group.tolist()
        numbers = [start + brief[item] for item in items]
        ids = [chosen[item].id for item in items]
        try:
            with np.errstate(divide="raise", over="raise", invalid="raise"):
                written = _check_group(columns, group, operation, numbers, ids)
        except MixedError as mixed:
            waiting += [group[part] for part in mixed.parts]
        except FittingError as error:
            wrong = _where_wrong(error.faults, len(group))
            refused += group[wrong].tolist()
            waiting += [group[~wrong]]
        except ProblemError:
            refused += items
        except Exception:
            log.warning("items of a batch are answered one by one", exc_info=True)
        else:
            for item, entry in zip(items, written, strict=True):
                entries[brief[item]] = entry
    return {brief[item] for item in refused}


def _check_group(
    columns: Columns, group: Whole, operation: Operation, numbers: list[int], ids: list[str | None]
) -> list[bytes]:
    request = columns.instance(operation.module.Request, group)
    ruleset, local = operation.ruleset_of(columns.word(("ruleset",), group)), columns.local(group)
    operation.refuse_unused(request, local, ruleset)
    operation.require_needs(request)
    context = Context(
        ruleset=ruleset,
        local=local,
        detail="verdict",
        engine=__version__,
    )
    fitting = Fitting(archer=request.archer, bow=request.bow, arrow=request.arrow)
    checks = check_all(fitting, request.saw_increment, len(group), context)
    unit_of = cache(lambda dimension: columns.units.of(dimension, group))
    entries = write_checks(checks, unit_of, numbers, ids)
    counts = np.bincount(checks.outcome.severities, minlength=len(VERDICTS)).tolist()
    metrics_of_process().count_verdicts(dict(zip(VERDICTS, counts, strict=True)))
    return entries


def _where_wrong(faults: Iterable[Fault], size: int) -> Mask:
    wrong = np.zeros(size, dtype=np.bool_)
    for fault in faults:
        wrong |= fault.when
    return wrong if wrong.any() else ~wrong
