"""Requests of a season: growth by month, old draws, clickers, wanted masses, deliveries."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from builders.wire import Body, arrow, bow, q


def growing(make: Any) -> Body:
    """An archer of whose growth something is known, measured some time ago or today."""
    body: Body = {
        "draw_length": make.inches(20, 29),
        "draw_length_convention": make.pick("standard", "standard", "to_pivot"),
    }
    if make.chance(0.6):
        body["age"] = make.pick(7.5, 9, 10.25, 11, 12, 13, 13.5, 14.2, 15, 16, 19.9, 20, 35)
        make.maybe(body, 0.6, "growth_table", lambda: make.pick("boys", "unknown"))
    else:
        make.maybe(body, 0.8, "growth_rate", lambda: make.inches(0, 2))
    make.maybe(
        body, 0.6, "measured_on", lambda: make.pick("2026-02-01", "2026-08-20", "2025-11-30")
    )
    make.maybe(body, 0.9, "today", lambda: make.pick("2026-09-01", "2026-01-01"))
    make.maybe(body, 0.3, "draw_control", lambda: make.pick("clicker", "settled", "draw_stop"))
    make.maybe(body, 0.2, "growth_allowance", lambda: make.inches(0, 1))
    make.maybe(body, 0.2, "experience", lambda: make.pick("first_evenings", "practised"))
    return body


def clicker_bow(make: Any) -> Body:
    body = bow(make.pick(20, 28, 40), basis=make.pick("own_draw", "at_28"))
    make.maybe(body, 0.7, "rest_position", lambda: q(make.pick(0, 0.2)))
    make.maybe(body, 0.7, "clicker_range", lambda: {"near": q(1), "far": q(2.5)})
    return body


def _fit_check(make: Any) -> Body:
    body = {
        "archer": growing(make),
        "bow": clicker_bow(make),
        "arrow": arrow(make.pick(24, 26, 27.5, 29, 31), make.pick(500, 700, 1000)),
    }
    make.maybe(body, 0.6, "curve_months", lambda: make.pick(1, 6, 24))
    return body


def _clicker(make: Any) -> Body:
    changes: Body = {}
    make.maybe(changes, 0.5, "length", lambda: make.inches(25, 29))
    make.maybe(changes, 0.4, "point_mass", lambda: make.grains(70, 130))
    make.maybe(changes, 0.3, "exposed_length", lambda: make.inches(0.5, 1.2))
    make.maybe(changes, 0.4, "draw_length", lambda: make.inches(24, 30))
    body = {"archer": growing(make), "bow": clicker_bow(make), "arrow": arrow(28.5)}
    make.maybe(body, 0.3, "blade_position", lambda: make.inches(1, 3))
    return {**body, "changes": changes}


def _balance(make: Any) -> Body:
    body: Body = {"arrow": arrow(make.pick(27, 29.5), 800)}
    make.maybe(body, 0.6, "draw_weight", lambda: q(make.pick(18, 28, 45), "lbf"))
    wish = make.pick("wanted_mass", "wanted_grains_per_pound")
    body[wish] = make.grains(220, 420) if wish == "wanted_mass" else make.between(5, 16)
    make.maybe(body, 0.3, "wanted_length", lambda: q(26.5))
    return body


def _labels(make: Any) -> Body:
    sets = [{"id": name, "arrow": {"length": make.inches(25, 31)}} for name in ("red", "blue")]
    body = {"sets": sets, "bow": {"kind": "recurve"}, "archer": growing(make)}
    make.maybe(body, 0.6, "curve_months", lambda: make.pick(3, 12))
    return body


def _lengths(make: Any) -> Body:
    names = ("Runa", "Ekke", "Sif")
    archers = [{"id": one, "archer": growing(make), "bow": clicker_bow(make)} for one in names]
    body: Body = {"archers": archers, "most_lengths": 2, "season": {"months": make.pick(3, 9)}}
    make.maybe(body, 0.6, "curve_months", lambda: make.pick(3, 12))
    return body


def _delivery(make: Any) -> Body:
    one: Body = {
        "id": "Runa",
        "ordered_length": q(28),
        "arrived": [make.inches(26, 29) for _ in range(make.pick(1, 4, 7))],
    }
    if make.chance(0.8):
        one |= {"archer": growing(make), "bow": clicker_bow(make)}
    make.maybe(one, 0.5, "arrow", lambda: arrow(28, make.pick(500, 1100)))
    body: Body = {"sets": [one]}
    make.maybe(body, 0.3, "tolerance", lambda: make.pick(q(0), q(1 / 16)))
    return body


def _assignments(make: Any) -> Body:
    stated = make.chance(0.8)
    archers = []
    for name in ("Runa", "Ekke", "Sif", "Odd"):
        one = {"id": name, "archer": growing(make), "bow": {"kind": "recurve"}}
        archers.append({**one, "detail": make.pick("first", "second")} if stated else one)
    sets = [
        {"id": name, "arrow": {"length": make.inches(27, 32)}, "count": make.pick(3, 4, 6, 10)}
        for name in ("red", "blue")
    ]
    body: Body = {"archers": archers, "sets": sets, "arrows_per_archer": 6}
    make.maybe(body, 0.5, "least_arrows", lambda: make.pick(3, 4, 7))
    return body


MAKERS = {
    "fit-check": (_fit_check, 60),
    "clicker": (_clicker, 40),
    "balance": (_balance, 30),
    "kit/labels": (_labels, 20),
    "kit/lengths": (_lengths, 20),
    "delivery": (_delivery, 30),
    "kit/assignments": (_assignments, 30),
}


def season_bodies(make: Any) -> Iterator[tuple[str, Body]]:
    """Give operations and bodies, all of one maker."""
    for operation, (make_body, count) in MAKERS.items():
        for _ in range(count):
            yield operation, make_body(make)
