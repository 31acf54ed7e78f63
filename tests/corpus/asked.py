"""Varied requests of an invented club to every operation, good and bad, the same each time."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from builders.wire import Body, q
from corpus.season import season_bodies

INCH = {"in": 1.0, "mm": 25.4, "cm": 2.54, "m": 0.0254, "ft": 1 / 12}
GRAIN = {"gr": 1.0, "g": 0.06479891, "kg": 0.00006479891, "oz": 1 / 437.5, "lb": 1 / 7000}
POUND = {"lbf": 1.0, "N": 4.4482216152605}
GRAIN_PER_INCH = {"gr/in": 1.0, "g/m": 2.55113}


@dataclass(frozen=True)
class Asked:
    """One request: where it goes, what it carries, and what kind of request it is."""

    group: str
    path: str
    body: bytes | None = None
    headers: dict[str, str] = field(default_factory=dict)
    method: str = "POST"


class Maker:
    """Makes parts of requests, each with fields that may or may not be there."""

    def __init__(self, seed: str) -> None:
        self.rng = random.Random(seed)

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def pick(self, *choices: Any) -> Any:
        return self.rng.choice(choices)

    def between(self, low: float, high: float) -> float:
        return low + (high - low) * self.rng.random()

    def q(self, value: float, units: dict[str, float], usual: float = 0.7) -> Body:
        names = list(units)
        unit = names[0] if self.chance(usual) else self.rng.choice(names)
        return q(float(f"{value * units[unit]:.6g}"), unit)

    def inches(self, low: float, high: float) -> Body:
        value = self.between(low, high)
        return self.q(round(value * 8) / 8 if self.chance(0.5) else round(value, 2), INCH)

    def grains(self, low: float, high: float) -> Body:
        return self.q(round(self.between(low, high), 1), GRAIN)

    def maybe(self, body: Body, share: float, name: str, make: Callable[[], Any]) -> None:
        if self.chance(share):
            body[name] = make()

    def archer(self) -> Body:
        body: Body = {}
        convention = self.pick("standard", "standard", "standard", "to_pivot", "to_back")
        shift = -1.75 if convention == "to_pivot" else 0.0
        draw = min(33.0, max(19.0, self.rng.gauss(27, 2.2))) + shift
        how = self.rng.random()
        if how < 0.7:
            body["draw_length"] = self.q(round(draw, 2), INCH)
        elif how < 0.88:
            count = self.pick(1, 2, 3, 5, 6, 8, 12, 20)
            spread = self.pick(0.05, 0.1, 0.2, 0.5)
            body["draws"] = [
                self.q(round(draw + self.rng.gauss(0, spread), 3), INCH, 0.9) for _ in range(count)
            ]
        else:
            body["arm_span"] = self.q(round((draw - shift) * 2.5, 1), INCH, 0.4)
        if "arm_span" not in body:
            body["draw_length_convention"] = convention
            self.maybe(body, 0.1, "arm_span", lambda: self.q(round(draw * 2.5, 1), INCH))
        if "draw_length" in body and self.chance(0.2):
            body["draw_variation"] = self.q(round(self.between(0.02, 0.6), 3), INCH)
            body["draw_count"] = self.pick(2, 3, 5, 6, 10, 12, 20, 40, 300)
        self.maybe(body, 0.35, "growth_allowance", lambda: self.inches(0, 1.5))
        self.maybe(
            body,
            0.45,
            "draw_control",
            lambda: self.pick("none", "settled", "clicker", "clicker", "draw_stop"),
        )
        self.maybe(body, 0.25, "release", lambda: self.pick("fingers", "aid", "thumb"))
        self.maybe(body, 0.25, "string_hand", lambda: self.pick("right", "left"))
        self.maybe(body, 0.3, "coach_checked", lambda: self.chance(0.7))
        return body

    def bow(self, archer: Body | None = None) -> Body:
        kinds = ("recurve", "recurve", "barebow", "longbow", "traditional", "compound", "other")
        body: Body = {"kind": self.pick(*kinds)}
        if self.chance(0.7):
            body["draw_weight"] = self.q(round(self.between(14, 60), 1), POUND)
            body["draw_weight_basis"] = self.pick("own_draw", "own_draw", "at_28")
        if archer is not None and archer.get("draw_length_convention") == "to_back":
            self.maybe(body, 0.8, "back_position", lambda: self.inches(0.5, 3))
        else:
            self.maybe(body, 0.2, "back_position", lambda: self.inches(0.5, 3))
        self.maybe(body, 0.45, "rest_position", lambda: self.inches(-1.2, 2.2))
        control = (archer or {}).get("draw_control")
        if self.chance(0.8 if control == "clicker" else 0.1):
            near = self.between(0.5, 2.0)
            body["clicker_range"] = {
                "near": self.q(round(near, 2), INCH),
                "far": self.q(round(near + self.between(0.2, 2.5), 2), INCH),
            }
        self.maybe(body, 0.15, "maximum_draw", lambda: self.inches(26, 33))
        self.maybe(body, 0.15, "minimum_arrow_mass", lambda: self.grains(150, 420))
        return body

    def shaft(self) -> Body:
        body: Body = {}
        if self.chance(0.9):
            wood = self.chance(0.12)
            body["static_spine"] = {
                "value": round(self.between(25, 70) if wood else self.between(280, 1300), 1),
                "unit": "wood-lb" if wood else "astm",
            }
        if self.chance(0.9):
            body["mass_per_length"] = self.q(round(self.between(4.5, 13), 2), GRAIN_PER_INCH)
        self.maybe(body, 0.3, "outside_diameter", lambda: self.q(self.between(0.15, 0.4), INCH))
        self.maybe(
            body,
            0.4,
            "material",
            lambda: self.pick("carbon", "carbon", "aluminium", "carbon_aluminium", "wood"),
        )
        if self.chance(0.06):
            body["stations"] = [
                {
                    "position": self.q(place, INCH, 0.9),
                    "relative_stiffness": round(self.between(0.6, 1.6), 2),
                    "relative_mass": round(self.between(0.8, 1.2), 2),
                }
                for place in (0.0, 12.0, 33.0)
            ]
            if body.get("static_spine", {}).get("unit") == "wood-lb":
                body["static_spine"] = {"value": 600, "unit": "astm"}
        return body

    def arrow(self, length: float | None = None) -> Body:
        body: Body = {}
        length = self.between(23, 33) if length is None else length
        self.maybe(body, 0.95, "length", lambda: self.q(round(length, 3), INCH))
        self.maybe(body, 0.2, "mass", lambda: self.grains(220, 520))
        self.maybe(body, 0.12, "balance_point", lambda: self.q(round(length * 0.61, 2), INCH))
        self.maybe(body, 0.8, "shaft", self.shaft)
        if self.chance(0.75):
            body["point"] = {"mass": self.grains(50, 160)}
            self.maybe(body["point"], 0.6, "exposed_length", lambda: self.inches(0.3, 1.2))
            self.maybe(body["point"], 0.1, "shank_length", lambda: self.inches(0.4, 1.5))
            self.maybe(body["point"], 0.1, "sleeve_length", lambda: self.inches(0.2, 0.8))
            self.maybe(body["point"], 0.15, "centre", lambda: self.inches(-0.8, 0.5))
        if self.chance(0.2):
            body["insert"] = {"mass": self.grains(5, 60)}
            self.maybe(body["insert"], 0.5, "length", lambda: self.inches(0.4, 1.2))
        if self.chance(0.5):
            body["nock"] = {"mass": self.grains(4, 16)}
            self.maybe(body["nock"], 0.6, "projection", lambda: self.inches(0.1, 0.7))
        if self.chance(0.5):
            body["fletching"] = {
                "mass": self.grains(6, 40),
                "rear_edge": self.inches(0.8, 1.6),
                "length": self.inches(1.5, 4),
            }
        if self.chance(0.08):
            body["wrap"] = {"mass": self.grains(3, 20), "length": self.inches(3, 8)}
        return body

    def near_draw(self, archer: Body) -> float:
        """An arrow length that could be right for this archer, too short, or too long."""
        convention = archer.get("draw_length_convention")
        stated = archer.get("draw_length") or (archer.get("draws") or [None])[0]
        if stated is None:
            span = archer["arm_span"]
            draw = span["value"] / INCH[span["unit"]] / 2.5
        else:
            draw = stated["value"] / INCH[stated["unit"]] + (
                1.75 if convention == "to_pivot" else 0
            )
        return draw + self.pick(self.between(-1.5, 4), self.between(0.5, 2.5), 1.0, 1.5)

    def trio(self) -> Body:
        archer = self.archer()
        return {
            "archer": archer,
            "bow": self.bow(archer),
            "arrow": self.arrow(self.near_draw(archer)),
        }

    def beside(self, body: Body, detail: bool = False) -> Body:
        """Add what stands beside the parts in any request that asks rules."""
        rule_set = self.pick(None, None, "core", "hall", "strict", "clearance", "minimums")
        if rule_set is not None:
            body["ruleset"] = rule_set
        if self.chance(0.15):
            body["local"] = {"clicker-clearance": {"position": self.inches(0.5, 3)}}
        # Inputs go with rule sets that look at them; one in eight does not, and is refused.
        if (
            rule_set not in ("hall", "clearance")
            and "'local'" in repr(body)
            and len(repr(body)) % 8
        ):
            body["ruleset"] = "clearance"
        if self.chance(0.15):
            body["report_in"] = self.pick(
                {"length": "mm"}, {"length": "in", "mass": "gr"}, {"length": "cm", "mass": "g"}
            )
        if detail and self.chance(0.25):
            body["detail"] = self.pick("full", "verdict")
        return body


def minimum_length(make: Maker) -> Body:
    body = make.trio()
    if make.chance(0.5):
        body["arrow"] = {"point": make.arrow().get("point", {})}
    if make.chance(0.3):
        del body["arrow"]
    make.maybe(body, 0.3, "saw_increment", lambda: make.pick(q(0.25), q(0.5), q(5, "mm")))
    return make.beside(body)


def recommended_length(make: Maker) -> Body:
    body = make.trio()
    make.maybe(body, 0.4, "saw_increment", lambda: make.pick(q(0.25), q(0.5), q(5, "mm")))
    return make.beside(body)


def longest_draw(make: Maker) -> Body:
    body = make.trio()
    archer = body["archer"]
    for name in ("draw_length", "draws", "arm_span"):
        if make.chance(0.8):
            archer.pop(name, None)
    archer.setdefault("draw_length_convention", "standard")
    return make.beside(body)


def described(make: Maker, arrow: Body) -> Body:
    """The arrow with what its stiffness and balance cannot do without, as a rule."""
    if make.chance(0.9):
        arrow.setdefault("length", q(29.5))
        shaft = arrow.setdefault("shaft", {})
        shaft.setdefault("static_spine", q(650, "astm"))
        shaft.setdefault("mass_per_length", q(6.4, "gr/in"))
        arrow.setdefault("point", {"mass": q(100, "gr")})
    return arrow


def spine(make: Maker) -> Body:
    length = make.between(26, 32)
    body: Body = {"arrow": described(make, make.arrow(length))}
    make.maybe(body, 0.6, "bow", make.bow)
    if make.chance(0.85):
        changes: Body = {}
        make.maybe(changes, 0.8, "length", lambda: make.q(length - make.between(0, 3), INCH))
        make.maybe(changes, 0.4, "point_mass", lambda: make.grains(60, 160))
        body["changes"] = changes
        make.maybe(body, 0.4, "step", lambda: make.pick(q(0.25), q(0.5), q(1), q(1, "cm")))
    make.maybe(body, 0.2, "cut_end", lambda: make.pick("front", "rear"))
    if make.chance(0.25):
        body["available_points"] = [q(mass, "gr") for mass in (70, 80, 90, 100, 110, 120)]
    return body


def balance(make: Maker) -> Body:
    length = make.between(26, 32)
    body: Body = {"arrow": described(make, make.arrow(length))}
    make.maybe(body, 0.6, "wanted_front_of_centre", lambda: round(make.between(6, 18), 1))
    make.maybe(body, 0.3, "wanted_length", lambda: make.q(length - make.between(-0.3, 3), INCH))
    make.maybe(body, 0.2, "cut_end", lambda: make.pick("front", "rear"))
    return body


def fit_check(make: Maker) -> Body:
    return make.beside(make.trio(), detail=True)


def shots(make: Maker, length: float) -> list[Body]:
    rounds = make.pick(0, 0, 1, 1, 2, 3, 4)
    made = []
    for _ in range(rounds):
        one: Body = {
            "length": make.q(length, INCH),
            "distance": make.pick(q(18, "m"), q(20, "m"), q(60, "ft")),
            "bare_count": make.pick(2, 3, 3, 4),
            "fletched_count": make.pick(3, 3, 5),
        }
        if make.chance(0.75):
            one["offset"] = q(round(make.rng.gauss(5, 6), 1), make.pick("cm", "in"))
        else:
            one["offset"] = q(abs(round(make.rng.gauss(4, 4), 1)), "cm")
            one["side"] = make.pick("left", "right")
        make.maybe(one, 0.6, "group_width", lambda: make.inches(2, 9))
        made.append(one)
        length -= make.pick(0, 0.25, 0.5)
    return made


def cut_plan(make: Maker) -> Body:
    body = make.trio()
    archer = body["archer"]
    length = make.near_draw(archer) + make.between(0, 2.5)
    body["arrow"] = described(make, make.arrow(length))
    body["arrow"]["length"] = make.q(round(length, 3), INCH)
    fired = shots(make, length + make.pick(0, 0, 0.5))
    if fired or make.chance(0.5):
        body["shots"] = fired
    if any("side" in one for one in fired):
        # Without them a side tells nothing, and the request is refused.
        archer.setdefault("string_hand", "right")
        archer.setdefault("release", "fingers")
    cutting: Body = {}
    make.maybe(cutting, 0.2, "wanted_length", lambda: make.q(length - make.between(0, 2), INCH))
    make.maybe(cutting, 0.2, "target_offset", lambda: make.inches(0, 2))
    make.maybe(cutting, 0.2, "largest_step", lambda: make.inches(0.3, 1))
    make.maybe(cutting, 0.2, "smallest_step", lambda: make.inches(0.05, 0.25))
    make.maybe(cutting, 0.2, "cut_end", lambda: make.pick("front", "rear"))
    make.maybe(cutting, 0.2, "risk", lambda: make.pick(0.01, 0.02, 0.05))
    make.maybe(cutting, 0.15, "test_shafts", lambda: make.pick(1, 2, 3))
    make.maybe(cutting, 0.15, "set_count", lambda: make.pick(6, 12))
    if make.chance(0.3):
        cutting["available_points"] = [q(mass, "gr") for mass in (80, 90, 100, 110)]
    if cutting:
        body["cutting"] = cutting
    make.maybe(body, 0.4, "saw_increment", lambda: make.pick(q(0.0625), q(0.125), q(2, "mm")))
    return make.beside(body)


def order(make: Maker) -> Body:
    sets = []
    for number in range(make.pick(1, 1, 2, 3, 5)):
        one: Body = {
            "id": f"set {number}",
            "shafts": make.pick(6, 8, 12),
            "stock_length": make.q(make.pick(32, 33, 34), INCH),
        }
        make.maybe(one, 0.7, "shaft", lambda: make.pick("lake 700", "reed 600", "moor 900"))
        make.maybe(one, 0.9, "arrow", make.arrow)
        if "arrow" in one and make.chance(0.9):
            one["arrow"].pop("length", None)
        if make.chance(0.8):
            one["archer"] = make.archer()
            one["bow"] = make.bow(one["archer"])
        else:
            one["wanted_length"] = make.inches(27, 31.5)
        make.maybe(one, 0.15, "wanted_length", lambda: make.inches(27, 31.5))
        make.maybe(one, 0.3, "spares", lambda: make.pick(1, 2))
        make.maybe(one, 0.2, "test_shafts", lambda: make.pick(1, 2, 3))
        sets.append(one)
    body: Body = {"sets": sets}
    make.maybe(body, 0.5, "saw_increment", lambda: make.pick(q(0.25), q(0.5), q(5, "mm")))
    return make.beside(body)


def club_archer(make: Maker, number: int) -> Body:
    archer = make.archer()
    one: Body = {"id": f"archer {number}", "archer": archer, "bow": make.bow(archer)}
    if make.chance(0.1):
        one["local"] = {"clicker-clearance": {"position": make.inches(0.5, 3)}}
    return one


def rack_set(make: Maker, number: int) -> Body:
    arrow = make.arrow(make.between(25, 32))
    arrow.setdefault("length", q(29))
    return {"id": f"set {number}", "arrow": arrow}


def assignments(make: Maker) -> Body:
    archers = [club_archer(make, number) for number in range(make.pick(1, 3, 5, 8))]
    sets = [
        {**rack_set(make, number), "count": make.pick(5, 6, 7, 12)}
        for number in range(make.pick(1, 2, 4, 6))
    ]
    body: Body = {"archers": archers, "sets": sets, "arrows_per_archer": make.pick(3, 6)}
    return make.beside(body)


def labels(make: Maker) -> Body:
    body: Body = {
        "sets": [rack_set(make, number) for number in range(make.pick(1, 2, 4))],
        "bow": make.bow(),
    }
    if make.chance(0.7):
        body["archer"] = make.archer()
        body["archer"].setdefault("draw_length_convention", "standard")
        if make.chance(0.4) and "draw_length" in body["archer"]:
            del body["archer"]["draw_length"]
            body["archer"].pop("draw_variation", None)
            body["archer"].pop("draw_count", None)
    make.maybe(body, 0.5, "growth_rate", lambda: make.inches(0.3, 2))
    make.maybe(body, 0.5, "label_increment", lambda: make.pick(q(0.25), q(0.5), q(1, "cm")))
    return make.beside(body)


def lengths(make: Maker) -> Body:
    body: Body = {
        "archers": [club_archer(make, number) for number in range(make.pick(1, 2, 3, 5, 8))],
        "most_lengths": make.pick(1, 2, 3),
        "arrows_per_archer": make.pick(3, 6, 12),
    }
    if make.chance(0.6):
        body["season"] = {"months": make.pick(3, 6, 12), "growth_rate": make.inches(0.3, 2)}
    make.maybe(body, 0.6, "saw_increment", lambda: make.pick(q(0.25), q(0.5), q(1, "cm")))
    return make.beside(body)


def consistency(make: Maker) -> Body:
    count = make.pick(3, 4, 6, 8, 12)
    length, mass = make.between(700, 780), make.between(300, 420)
    arrows = []
    for _ in range(count):
        one: Body = {"length": q(round(make.rng.gauss(length, 1.0), 1), "mm")}
        make.maybe(one, 0.8, "mass", lambda: q(round(make.rng.gauss(mass, 2.0), 1), "gr"))
        if make.chance(0.1):
            one["length"] = q(round(length - 8, 1), "mm")
        arrows.append(one)
    return {"arrows": arrows}


def batch_items(make: Maker, count: int) -> list[Any]:
    items: list[Any] = []
    for number in range(count):
        kind = make.rng.random()
        item: Any = make.trio()
        if kind < 0.5 and items and isinstance(items[-1], dict):
            item = copy.deepcopy(items[-1])
            with suppress(KeyError, TypeError):
                item["arrow"]["length"] = make.q(make.between(24, 32), INCH)
        elif kind < 0.6:
            item = spoil(make, item)
        if isinstance(item, dict):
            make.maybe(item, 0.3, "detail", lambda: make.pick("full", "verdict"))
            make.maybe(item, 0.2, "ruleset", lambda: make.pick("core", "hall", "minimums"))
            if make.chance(0.7):
                item["id"] = f"member {number}"
            make.maybe(item, 0.1, "report_in", lambda: {"length": "mm"})
        items.append(item)
    return items


def replacement(make: Maker) -> Body:
    length = make.between(26, 32)
    shafts = []
    for place in range(make.rng.randint(1, 6)):
        one: Body = {"shaft": described(make, make.arrow(length)).get("shaft", {})}
        make.maybe(one, 0.7, "id", lambda place=place: f"shaft {place}")
        make.maybe(one, 0.4, "stock_length", lambda: make.inches(28, 33))
        make.maybe(one, 0.2, "available_points", lambda: [make.grains(60, 160)])
        shafts.append(one)
    body: Body = {"arrow": described(make, make.arrow(length)), "candidates": shafts}
    if make.chance(0.6):
        archer = make.archer()
        body |= {"archer": archer, "bow": make.bow(archer)}
        body = make.beside(body)
    make.maybe(body, 0.5, "saw_increment", lambda: make.pick(q(0.25), q(0.125), q(1, "cm")))
    if make.chance(0.4):
        body["available_points"] = [q(mass, "gr") for mass in (70, 85, 100, 125)]
    return body


def sets(make: Maker) -> Body:
    arrows = []
    for place in range(make.rng.randint(1, 30)):
        one: Body = {
            "length": make.q(make.pick(28.0, 28.5) + make.between(-0.1, 0.1), INCH),
            "mass": make.grains(345, 356),
        }
        make.maybe(one, 0.5, "id", lambda place=place: f"arrow {place}")
        make.maybe(one, 0.3, "kind", lambda: make.pick("lake", "heath"))
        if make.chance(0.05):
            del one["mass"]
        arrows.append(one)
    body: Body = {"arrows": arrows}
    make.maybe(body, 0.7, "arrows_per_set", lambda: make.rng.randint(2, 8))
    make.maybe(body, 0.4, "tolerances", lambda: {"mass": make.grains(1, 9)})
    return body


SPOILERS: tuple[Any, ...] = (
    None,
    True,
    "28 in",
    28,
    -1,
    [],
    {},
    1e308,
    {"value": 28},
    {"value": "28", "unit": "in"},
    {"value": 28, "unit": "furlong"},
    {"value": True, "unit": "in"},
    {"value": 28, "unit": "g"},
    {"value": -3, "unit": "in"},
    {"value": 1e6, "unit": "mm"},
    {"value": 0, "unit": "in"},
    {"value": 28, "unit": "in", "more": 1},
    [{"value": 28, "unit": "in"}],
    "fingers",
    "to_pivot",
)


def places(tree: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place of a tree, parents before their members."""
    if way:
        yield way
    if isinstance(tree, dict):
        for name, below in tree.items():
            yield from places(below, (*way, name))
    if isinstance(tree, list):
        for index, below in enumerate(tree):
            yield from places(below, (*way, index))


def spoil(make: Maker, body: Any) -> Any:
    """Do one thing to a request that a careless caller may do."""
    body = copy.deepcopy(body)
    way = make.rng.choice(list(places(body)))
    holder = body
    for step in way[:-1]:
        holder = holder[step]
    what = make.rng.random()
    if what < 0.25:
        del holder[way[-1]]
    elif what < 0.85 or not isinstance(holder, dict):
        holder[way[-1]] = copy.deepcopy(make.rng.choice(SPOILERS))
    else:
        holder[make.pick("drawlength", "Length", "colour", "")] = make.pick(1, "x", None)
    return body


MAKERS: dict[str, tuple[Callable[[Maker], Body], int, int]] = {
    # How many of each are sound as far as the maker knows, and how many are spoilt.
    "minimum-length": (minimum_length, 220, 60),
    "recommended-length": (recommended_length, 260, 60),
    "longest-draw": (longest_draw, 220, 50),
    "spine": (spine, 170, 50),
    "balance": (balance, 150, 50),
    "fit-check": (fit_check, 700, 150),
    "cut-plan": (cut_plan, 200, 50),
    "order": (order, 130, 40),
    "kit/assignments": (assignments, 90, 30),
    "kit/labels": (labels, 110, 30),
    "kit/lengths": (lengths, 90, 30),
    "kit/consistency": (consistency, 70, 30),
}
JSON = {"Content-Type": "application/json"}
LINES = {"Content-Type": "application/x-ndjson"}
CATALOGUES = ("rules", "plugins", "rulesets", "units", "sources", "rules?ruleset=hall")


def encode(tree: Any) -> bytes:
    return json.dumps(tree, separators=(",", ":")).encode()


def single_requests(
    makers: dict[str, tuple[Callable[[Maker], Body], int, int]],
) -> Iterator[Asked]:
    for operation, (make_body, sound, spoilt) in makers.items():
        make = Maker(operation)
        for _ in range(sound):
            yield Asked(operation, f"/v1/{operation}", encode(make_body(make)), JSON)
        for _ in range(spoilt):
            body = encode(spoil(make, make_body(make)))
            yield Asked(f"{operation}, spoilt", f"/v1/{operation}", body, JSON)


LATER: dict[str, tuple[Callable[[Maker], Body], int, int]] = {
    # Asked after all others, whose numbers stay.
    "replacement": (replacement, 90, 30),
    "kit/sets": (sets, 70, 30),
}


def order_sheets() -> Iterator[Asked]:
    make = Maker("sheets")
    for accept in ("text/csv", "text/csv;q=0.5", "application/json, text/csv;q=0.9", "image/png"):
        for _ in range(10):
            yield Asked("order sheet", "/v1/order", encode(order(make)), {**JSON, "Accept": accept})


def batches() -> Iterator[Asked]:
    make = Maker("batches")
    path = "/v1/fit-check/batch"
    for count in [1, 2, 3, 5, 8, 13, 30, 60] * 6:
        items = batch_items(make, count)
        yield Asked("batch", path, encode({"items": items}), JSON)
        lines = b"\n".join(map(encode, items)) + make.pick(b"", b"\n", b"\n\n")
        yield Asked("batch in lines", path, lines, LINES)
    # Alike in their fields and many: the way by columns.
    for _ in range(8):
        first = make.beside(make.trio())
        items = []
        for _number in range(150):
            item = copy.deepcopy(first)
            item["arrow"]["length"] = make.q(make.between(24, 32), INCH, 0.9)
            items.append(item)
        yield Asked("batch alike", path, encode({"items": items}), JSON)


def on_the_wire() -> Iterator[Asked]:
    make = Maker("wire")
    good = encode(fit_check(make))
    path = "/v1/fit-check"
    bodies = (
        b"",
        b"{",
        b"[]",
        b"null",
        b"12",
        b'"text"',
        b"\xff\xfe",
        b"\xef\xbb\xbf" + good,
        good[:-1],
        good + b"x",
        good.replace(b'"in"', b'"IN"'),
        b'{"archer": NaN}',
        b'{"archer": {"draw_length": {"value": 1e400, "unit": "in"}}}',
        b"[" * 2000,
        b'{"a":' * 300 + b"1" + b"}" * 300,
    )
    for body in bodies:
        yield Asked("wire", path, body, JSON)
        yield Asked("wire", "/v1/fit-check/batch", body, JSON)
        yield Asked("wire", "/v1/fit-check/batch", body, LINES)
    for kind in ("", "text/plain", "application/json; charset=utf-8", "application/xml"):
        yield Asked("wire", path, good, {"Content-Type": kind} if kind else {})
    for method in ("GET", "PUT", "DELETE", "OPTIONS", "PATCH"):
        yield Asked("wire", path, None, {}, method)
    yield Asked("wire", "/v1/nowhere", good, JSON)
    yield Asked("wire", "/v1/fit-check/", good, JSON)
    for name in CATALOGUES:
        yield Asked("catalogues", f"/v1/{name}", None, {}, "GET")
        yield Asked("catalogues", f"/v1/{name}", b"{}", JSON)


def season() -> Iterator[Asked]:
    for operation, body in season_bodies(Maker("season")):
        yield Asked(f"season, {operation}", f"/v1/{operation}", encode(body), JSON)


def all_requests() -> list[Asked]:
    """Every request of the corpus, in order."""
    return [
        *single_requests(MAKERS),
        *order_sheets(),
        *batches(),
        *on_the_wire(),
        *single_requests(LATER),
        *season(),
    ]
