"""Bodies at their limits for each operation, by traits that may cost time."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from typing import Any, Final

from benchmarks.club import about
from builders.wire import Body, q

Traits = Mapping[str, str]

TRAITS: Final[dict[str, tuple[str, ...]]] = {
    "shaft": ("tapered", "uniform", "mixed"),
    "spine": ("usual", "strong", "weak"),
    "control": ("none", "clicker", "settled", "draw_stop"),
    "draw": ("length", "draws", "spread", "span"),
    "basis": ("own_draw", "at_28"),
    "weight": ("usual", "heavy"),
    "length": ("usual", "long", "short"),
    "parts": ("all", "few"),
    "fields": ("alike", "some shapes", "differ"),
    "asked": ("all", "least"),
    "local": ("given", "none"),
}
"""What a body may be; the first of each is where a search begins."""
FULL: Final = {trait: choices[0] for trait, choices in TRAITS.items()}
"""The first choice of each trait: a full body of tapered shafts."""
_SPINES: Final = {"usual": 550.0, "strong": 250.0, "weak": 1100.0}
_WEIGHTS: Final = {"usual": 34.0, "heavy": 90.0}
_BEYOND: Final = {"usual": 2.0, "long": 8.0, "short": -1.0}
STATIONS: Final = 50
SHAPES: Final = 31
"""So many of archers and of tapered sets make nearly as many combinations as are accepted."""


class Maker:
    """Makes parts of requests with the same traits, each with figures of its own."""

    def __init__(self, traits: Traits, seed: int = 5, stations: int = STATIONS) -> None:
        self.traits = traits
        self.rng = random.Random(seed)
        self._count = stations
        self._made = 0

    def person(self) -> Body:
        """Archer and bow."""
        traits, rng = self.traits, self.rng
        draw = rng.uniform(25.0, 28.5)
        archer: Body = {
            "draw_length_convention": "standard",
            "draw_control": traits["control"],
            "growth_allowance": about(rng.uniform(0, 1)),
            "release": "fingers",
            "string_hand": "right",
        }
        if traits["draw"] == "span":
            archer["arm_span"] = about(draw * 2.5)
        elif traits["draw"] == "draws":
            archer["draws"] = [about(rng.gauss(draw, 0.2)) for _ in range(100)]
        else:
            archer["draw_length"] = about(draw)
        if traits["draw"] == "spread":
            archer |= {"draw_variation": about(rng.uniform(0.1, 0.4)), "draw_count": 12}
        bow: Body = {
            "kind": "compound" if traits["control"] == "draw_stop" else "recurve",
            "draw_weight": about(_WEIGHTS[traits["weight"]] + rng.uniform(-4, 4), "lbf"),
            "draw_weight_basis": traits["basis"],
            "rest_position": about(rng.uniform(0.0, 0.5)),
            "back_position": about(rng.uniform(1.2, 1.9)),
            "clicker_range": {"near": about(0.9), "far": about(3.2)},
            "maximum_draw": about(31),
            "minimum_arrow_mass": about(180, "gr"),
        }
        if traits["local"] == "given":
            return {"archer": archer, "bow": bow, "local": local(rng)}
        return {"archer": archer, "bow": bow}

    def arrow(self, *, length: bool = True) -> Body:
        """An arrow."""
        traits, rng = self.traits, self.rng
        shaft: Body = {
            "static_spine": about(_SPINES[traits["spine"]] * rng.uniform(0.9, 1.1), "astm"),
            "mass_per_length": about(rng.uniform(5.5, 8.0), "gr/in"),
            "outside_diameter": about(5.6, "mm"),
            "material": "carbon",
        }
        self._made += 1
        if traits["shaft"] == "tapered" or (traits["shaft"] == "mixed" and self._made % 2):
            shaft["stations"] = self._stations()
        point: Body = {"mass": about(rng.uniform(90, 120), "gr"), "exposed_length": about(0.9)}
        arrow: Body = {"shaft": shaft, "point": point}
        if length:
            arrow["length"] = about(27.5 + _BEYOND[traits["length"]] + rng.uniform(-0.4, 0.4))
        if traits["parts"] == "all":
            point |= {"shank_length": about(1), "sleeve_length": about(0.1), "centre": about(0.2)}
            arrow |= {
                "insert": {"mass": about(12, "gr"), "length": about(0.8)},
                "nock": {"mass": about(9, "gr"), "projection": about(rng.uniform(0.2, 0.6))},
                "fletching": {
                    "mass": about(9, "gr"), "rear_edge": about(1.1), "length": about(1.8),
                },
                "wrap": {"mass": about(6, "gr"), "length": about(3)},
            }  # fmt: skip
        return arrow

    def vary(self, place: int, *bodies: Body) -> None:
        """Leave out fields, by the place of an item in its list."""
        if self.traits["fields"] == "alike":
            return
        if self.traits["fields"] == "some shapes":
            place %= SHAPES
        spare = [
            (part, name)
            for body in bodies
            for kind in (body, body.get("arrow", {}))
            for part in (kind, kind.get("archer", {}), kind.get("bow", {}), kind.get("point", {}))
            for name in _SPARE
            if name in part
        ]
        for bit, (part, name) in enumerate(spare):
            if place >> bit & 1:
                del part[name]

    def all_of(self, **members: Any) -> Body:
        """Optional members of a request, where it asks for all."""
        return members if self.traits["asked"] == "all" else {}

    def _stations(self) -> list[Body]:
        rng = self.rng
        return [
            {
                "position": about((at + rng.uniform(0.1, 0.9)) * 1200 / self._count, "mm"),
                "relative_stiffness": round(rng.uniform(0.8, 1.2), 3),
                "relative_mass": round(rng.uniform(0.8, 1.2), 3),
            }
            for at in range(self._count)
        ]


_SPARE: Final = (
    "growth_allowance", "release", "string_hand", "maximum_draw", "minimum_arrow_mass",
    "back_position", "rest_position", "local", "insert", "wrap", "fletching", "shank_length",
    "sleeve_length", "centre",
)  # fmt: skip


def local(rng: random.Random) -> Body:
    """Inputs of the plugins here."""
    return {"clicker-clearance": {"position": about(rng.uniform(1.5, 2.5))}}


def check(maker: Maker, place: int = 0) -> Body:
    """A fit check."""
    body = {**maker.person(), "arrow": maker.arrow()}
    maker.vary(place, body)
    return body


def _of_check(maker: Maker, count: int) -> Body:
    return {**check(maker), **maker.all_of(saw_increment=about(0.25))}


def _clicker(maker: Maker, count: int) -> Body:
    body = check(maker)
    if body["archer"].pop("arm_span", None):
        body["archer"]["draw_length"] = about(27)
    body["arrow"]["point"] = {**body["arrow"].get("point", {}), "exposed_length": about(0.75)}
    return {**body, "changes": {"draw_length": about(27)}}


def _longest_draw(maker: Maker, count: int) -> Body:
    return check(maker)


def _arrow_changes(maker: Maker, count: int) -> Body:
    bow = {**maker.person()["bow"], "draw_weight_basis": "own_draw"}
    arrow = maker.arrow()
    present, cuts = arrow["length"]["value"], 30 if "stations" in arrow["shaft"] else 200
    return {
        "arrow": arrow,
        "bow": bow,
        "changes": {"length": about(present - (cuts - 1) * 0.04), "point_mass": about(80, "gr")},
        "cut_end": "rear",
        **maker.all_of(
            step=about(0.04), available_points=[about(70 + at, "gr") for at in range(50)]
        ),
    }


def _replacement(maker: Maker, count: int) -> Body:
    candidates = []
    for place in range(count):
        one = maker.arrow()
        maker.vary(place, one)
        # More tapered shafts than 40 are refused.
        shaft = one["shaft"] if place < 40 else {**one["shaft"], "stations": None}
        parts = {name: one[name] for name in ("insert", "nock") if name in one}
        candidates.append(
            {
                "id": f"shaft {place}",
                "shaft": {name: value for name, value in shaft.items() if value is not None},
                **parts,
                **maker.all_of(
                    stock_length=about(33),
                    available_points=[about(60 + 2 * at, "gr") for at in range(50)],
                ),
            }
        )
    return {
        "arrow": maker.arrow(),
        "candidates": candidates,
        **maker.all_of(saw_increment=about(0.125), **maker.person()),
    }


def _balance(maker: Maker, count: int) -> Body:
    arrow = maker.arrow()
    return {
        "arrow": arrow,
        **maker.all_of(
            wanted_front_of_centre=12,
            wanted_length=about(arrow["length"]["value"] - 1),
            cut_end="rear",
        ),
    }


def _cut_plan(maker: Maker, count: int) -> Body:
    body, rng = _of_check(maker, count), maker.rng
    present = body["arrow"]["length"]["value"]
    cutting = {
        "largest_step": about(1 if "stations" not in body["arrow"]["shaft"] else 5, "mm"),
        "smallest_step": about(0.5, "mm"),
        "cut_end": "rear",
        "available_points": [about(60 + 2 * at, "gr") for at in range(40)],
    }
    shots = [
        {
            "length": about(present + (count - at) * 0.02),
            "offset": about(20 - at * 0.1 + rng.uniform(-2, 2), "cm"),
            "distance": q(18, "m"),
            "bare_count": 3,
            "fletched_count": 3,
            "group_width": about(8, "cm"),
        }
        for at in range(count)
    ]
    body.pop("saw_increment", None)
    return {**body, "cutting": cutting, **maker.all_of(shots=shots)}


def _order(maker: Maker, count: int) -> Body:
    sets = []
    for place in range(count):
        one = {**maker.person(), "arrow": maker.arrow(length=False)}
        maker.vary(place, one)
        stock = about(31.0 + _BEYOND[maker.traits["length"]] + maker.rng.uniform(0, 2))
        sets.append({"id": f"set {place}", "shafts": 12, "stock_length": stock, **one})
    return {"sets": sets, **maker.all_of(saw_increment=about(0.125))}


def _delivery(maker: Maker, count: int) -> Body:
    sets = []
    for place in range(count):
        one = {**maker.person(), "arrow": maker.arrow(length=False)}
        maker.vary(place, one)
        arrived = [about(maker.rng.gauss(29, 0.5)) for _ in range(50)]
        sets.append({"id": f"set {place}", "ordered_length": about(29), "arrived": arrived, **one})
    return {"sets": sets}


def _queue(maker: Maker, count: int) -> list[Body]:
    archers = []
    for place in range(count):
        one = maker.person()
        maker.vary(place, one)
        archers.append({"id": f"archer {place}", **one})
    return archers


def _rack(maker: Maker, count: int) -> list[Body]:
    sets = []
    for place in range(count):
        one: Body = {"id": f"set {place}", "arrow": maker.arrow()}
        maker.vary(place, one)
        sets.append(one)
    return sets


def _assignments(maker: Maker, count: int) -> Body:
    sets = [{**one, "count": 12} for one in _rack(maker, count)]
    return {"archers": _queue(maker, count), "sets": sets, "arrows_per_archer": 6}


def _labels(maker: Maker, count: int) -> Body:
    return {
        "sets": _rack(maker, count),
        **maker.person(),
        **maker.all_of(growth_rate=about(0.3), label_increment=about(0.25)),
    }


def _lengths(maker: Maker, count: int) -> Body:
    return {
        "archers": _queue(maker, count),
        "most_lengths": min(50, count),
        "arrow": maker.arrow(length=False),
        **maker.all_of(saw_increment=about(0.125), season={"months": 12}),
    }


def _consistency(maker: Maker, count: int) -> Body:
    rng = maker.rng
    return {
        "arrows": [
            {
                "length": about(rng.gauss(29, 0.2)),
                "mass": about(rng.gauss(350, 10), "gr"),
                "balance_point": about(rng.gauss(16, 0.2)),
                "static_spine": about(rng.gauss(550, 20), "astm"),
            }
            for _ in range(count)
        ]
    }


def _sets(maker: Maker, count: int) -> Body:
    rng = maker.rng
    # Parts of 48 arrows, which are as large as any that is solved exactly.
    return {
        "arrows": [
            {
                "id": f"arrow {at}",
                "length": about(rng.gauss(26, 0.05) + at // 48 / 5),
                "mass": about(rng.gauss(350, 3), "gr"),
                **maker.all_of(
                    balance_point=about(rng.gauss(16, 0.1)),
                    static_spine=about(rng.gauss(550, 15), "astm"),
                    point_mass=about(rng.gauss(100, 0.7), "gr"),
                    kind="lake 550",
                ),
            }
            for at in range(count)
        ],
        "arrows_per_set": 6,
    }


def _batch(maker: Maker, count: int, detail: str = "verdict") -> Body:
    items = [{**check(maker, place), "detail": detail} for place in range(count)]
    return {"items": items}


def _full_batch(maker: Maker, count: int) -> Body:
    # One with a tapered shaft counts as three.
    share = {"tapered": 3, "mixed": 2, "uniform": 1}[maker.traits["shaft"]]
    return _batch(maker, max(1, count // share), "full")


MAKERS: Final[dict[str, tuple[str, Callable[[Maker, int], Body], int]]] = {
    "minimum-length": ("minimum-length", _of_check, 1),
    "recommended-length": ("recommended-length", _of_check, 1),
    "longest-draw": ("longest-draw", _longest_draw, 1),
    "spine": ("spine", _arrow_changes, 1),
    "replacement": ("replacement", _replacement, 500),
    "balance": ("balance", _balance, 1),
    "fit-check": ("fit-check", _of_check, 1),
    "cut-plan": ("cut-plan", _cut_plan, 60),
    "clicker": ("clicker", _clicker, 1),
    "order": ("order", _order, 200),
    "delivery": ("delivery", _delivery, 50),
    "kit/assignments": ("kit/assignments", _assignments, 500),
    "kit/labels": ("kit/labels", _labels, 500),
    "kit/lengths": ("kit/lengths", _lengths, 500),
    "kit/consistency": ("kit/consistency", _consistency, 500),
    "kit/sets": ("kit/sets", _sets, 2_000),
    "batch": ("fit-check/batch", _batch, 10_000),
    "batch, full": ("fit-check/batch", _full_batch, 1_000),
}
"""By name: the path, what makes the body, and how many items it may have."""
