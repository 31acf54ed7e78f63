"""Equipment limits of a governing body, by article number, from a table that can be replaced."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from drawmark import rules
from drawmark_competition_limits.table import Limit, read_table


@dataclass(frozen=True, kw_only=True)
class Competition:
    """Whose limits hold, and how they bear on the verdict."""

    table: str = rules.text(
        500, "Absolute path of a table in place of the plugin's own.", default=""
    )
    severity: str = rules.choice(
        ("note", "caution", "stop"), "What equipment beyond a limit gets.", default="caution"
    )

    def __post_init__(self) -> None:
        """Read the table at the start, so that a fault in it is told there."""
        _ = self.limits

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """The rows of the table."""
        return read_table(self.table)


def _rows(case: rules.Case, fact: str) -> Iterator[Limit]:
    return (row for row in case.settings.limits if row.fact == fact and case.bow.kind in row.bows)


def _said(
    case: rules.Case,
    row: Limit,
    field: str,
    when: rules.Truth,
    measured: rules.Measure | None = None,
    limit: rules.Measure | None = None,
) -> rules.Finding:
    known = " From memory: look it up." if row.mark == "memory" else ""
    return rules.Finding(
        severity=case.settings.severity,
        message=f"{row.body}, {row.article}: {row.message[:1].lower()}{row.message[1:]}{known}",
        when=when,
        measured=measured,
        limit=limit,
        source=f"{row.body}, {row.article} ({row.mark})",
        fields=(field,),
    )


def _figures(
    fact: str, kind: Any, field: str, value: Callable[[rules.Case], Any]
) -> Callable[[rules.Case], Iterable[rules.Said]]:
    shorter, longer = (
        (rules.shorter, rules.longer) if kind == "length" else (rules.less, rules.more)
    )

    def check(case: rules.Case) -> Iterable[rules.Said]:
        figure = value(case)
        measured = rules.Measure(figure, kind)
        for row in _rows(case, fact):
            if row.at_least is not None:
                limit = rules.Measure(row.at_least, kind, up=True)
                yield _said(case, row, field, shorter(figure, row.at_least), measured, limit)
            if row.at_most is not None:
                limit = rules.Measure(row.at_most, kind, down=True)
                yield _said(case, row, field, longer(figure, row.at_most), measured, limit)

    return check


def check_draw_control(case: rules.Case) -> Iterable[rules.Said]:
    """Refuse what may not end the draw."""
    for row in _rows(case, "draw_control"):
        yield _said(case, row, "archer.draw_control", case.archer.draw_control in row.refused)


def _diameter(case: rules.Case) -> rules.Real | None:
    shaft = case.arrow.shaft
    return None if shaft is None else shaft.outside_diameter


check_rest_position = _figures(
    "rest_position", "length", "bow.rest_position", lambda case: case.bow.rest_position
)
check_shaft_diameter = _figures(
    "outside_diameter",
    "length",
    "arrow.shaft.outside_diameter",
    _diameter,
)
check_draw_weight = _figures(
    "draw_weight", "force", "bow.draw_weight", lambda case: case.facts.draw_weight
)


def _rule(
    id: str,
    title: str,
    fact: str,
    check: Callable[[rules.Case], Iterable[rules.Said]],
    needs: tuple[str, ...],
) -> rules.Rule:
    return rules.Rule(
        id=id,
        title=title,
        check=check,
        check_many=check,
        needs=needs,
        gives=frozenset({"finding"}),
        settings=Competition,
        applies=lambda settings: any(row.fact == fact for row in settings.limits),
    )


@rules.hookimpl
def drawmark_rules() -> list[rules.Rule]:
    """Give a rule for each fact that a table may limit; those of no row are left out."""
    return [
        _rule(
            "rest-position",
            "The arrow's support lies where competition allows it.",
            "rest_position",
            check_rest_position,
            ("bow.rest_position",),
        ),
        _rule(
            "shaft-diameter",
            "The shaft is no thicker than competition allows.",
            "outside_diameter",
            check_shaft_diameter,
            ("arrow.shaft.outside_diameter",),
        ),
        _rule(
            "draw-control",
            "Competition allows what ends the draw.",
            "draw_control",
            check_draw_control,
            (),
        ),
        _rule(
            "draw-weight",
            "The draw weight is no greater than competition allows.",
            "draw_weight",
            check_draw_weight,
            ("facts.draw_weight",),
        ),
    ]
