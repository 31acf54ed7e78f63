"""Drawings of rows: marks lie in proportion to the figures of the JSON answer."""

from __future__ import annotations

import copy

import pytest

from builders.wire import archer, arrow, q
from drawmark.fitting.units import UNITS
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from rules.bench import plugin
from web.drawings.pictures import drawn, overlaps, with_plugin


def si(figure):
    return float(UNITS[figure["unit"]].to_si(figure["value"]))


def assert_in_proportion(places):
    """Marks and figures, in pairs, differ by one scale."""
    (first, at), *others = sorted(places, key=lambda one: one[1])
    last, far = others[-1]
    scale = (last - first) / (far - at)
    assert scale > 0
    for x, figure in others:
        assert x == pytest.approx(first + (figure - at) * scale, abs=0.3)


def both(client, path, body=None):
    body = EXAMPLES[path] if body is None else body
    return drawn(client, path, body), client.post(f"/v1/{path}", json=body).get_json()


def test_spine_has_both_measures_at_each_length(client):
    picture, answer = both(client, "spine")
    states = [answer["before"], *answer["steps"]]
    assert list(picture.rows) == [
        f"{one['length']['value']:g}\u00a0in {words}"
        for one, words in zip(states, ("as it is", "cut", "cut"), strict=True)
    ]
    equivalent = [one["equivalent_static_spine"] for one in states]
    places = [
        *zip(
            picture.marks("free-vibration"),
            [si(one["free_vibration"]) for one in equivalent],
            strict=True,
        ),
        *zip(picture.marks("launch"), [si(one["launch"]) for one in equivalent], strict=True),
    ]
    assert len(places) == 6
    assert_in_proportion(places)


def test_spine_without_steps_shows_the_change(client):
    body = {**EXAMPLES["spine"], "changes": {"point_mass": q(120, "gr")}}
    del body["step"]
    picture, answer = both(client, "spine", body)
    assert list(picture.rows) == ["29.5\u00a0in as it is", "29.5\u00a0in changed"]
    after = answer["after"]["equivalent_static_spine"]
    assert f"{after['launch']['value']:g}" in picture.figure("29.5\u00a0in changed")


def test_cut_plan_has_rounds_cuts_and_limits(client):
    picture, answer = both(client, "cut-plan")
    assert picture.title == "Cut, then shoot again"
    assert answer["reason"] in picture.description
    ideal, window = answer["ideal_length"], answer["window"]
    assert_in_proportion(
        [
            (picture.mark("present"), si(answer["present"]["length"])),
            (picture.mark("step"), si(answer["steps"][0]["length"])),
            (picture.mark("ideal"), si(ideal["estimate"])),
            (picture.band("ideal")[0], si(ideal["low"])),
            (picture.band("ideal")[1], si(ideal["high"])),
            (picture.mark("recommended"), si(answer["recommended"])),
            (picture.band("recommended")[0], si(window["shortest"])),
            (picture.band("recommended")[1], si(window["longest"])),
            (picture.mark("minimum"), si(answer["minimum"])),
            (picture.band("too-short")[1], si(answer["minimum"])),
            *zip(
                picture.marks("round"),
                [si(one["length"]) for one in EXAMPLES["cut-plan"]["shots"]],
                strict=True,
            ),
        ]
    )


def test_first_cut_plan_is_drawn_without_rounds(client):
    body = {name: one for name, one in EXAMPLES["cut-plan"].items() if name != "shots"}
    picture, answer = both(client, "cut-plan", body)
    assert [label for label in picture.rows if label.startswith("Round")] == []
    assert answer["reason"] in picture.description


@pytest.mark.parametrize(
    ("shot", "words"),
    [
        ({"offset": q(-3)}, "3\u00a0in stiff"),
        ({"side": "left"}, "left"),
        ({"side": "left", "offset": q(3)}, "3\u00a0in left"),
    ],
)
def test_rounds_say_where_the_bare_shafts_landed(client, shot, words):
    body = copy.deepcopy(EXAMPLES["cut-plan"])
    body["archer"] |= {"string_hand": "right", "release": "fingers"}
    del body["shots"][1]["offset"]
    body["shots"][1] |= shot
    assert drawn(client, "cut-plan", body).figure("Round 2") == words


def test_labels_stand_beside_the_archers_draw(client):
    picture, answer = both(client, "kit/labels")
    assert list(picture.rows) == ["Draw stated", "blue", "red"]
    assert_in_proportion(
        [
            (picture.mark("draw"), si(EXAMPLES["kit/labels"]["archer"]["draw_length"])),
            *zip(picture.marks("set"), [si(one["label"]) for one in answer["labels"]], strict=True),
        ]
    )


@pytest.mark.parametrize("of_archer", [True, False])
def test_labels_stand_beside_an_old_draw_as_it_is_today(client, of_archer):
    """By hand: 365 days at 2 in a year are 1.9986 in more than 25 in."""
    body = {
        "sets": [{"id": "short", "arrow": arrow(26)}, {"id": "long", "arrow": arrow(30)}],
        "bow": {"kind": "recurve"},
        "archer": archer(25, measured_on="2025-06-01", today="2026-06-01"),
    }
    (body["archer"] if of_archer else body)["growth_rate"] = q(2)
    picture, _ = both(client, "kit/labels", body)
    assert picture.figure("Draw today, grown") == "26.999\u00a0in"
    assert_in_proportion(
        [(picture.mark("draw"), 26.9986), *zip(picture.marks("set"), (25, 29), strict=True)]
    )


def test_labels_without_a_safe_draw_have_no_mark(client):
    stub = {"id": "stub", "arrow": {"length": q(12)}}
    body = {
        "sets": [stub, *EXAMPLES["kit/labels"]["sets"]],
        "bow": {"kind": "recurve"},
        "archer": {"growth_allowance": q(5)},
    }
    picture, answer = both(client, "kit/labels", body)
    assert picture.figure("stub") == "no draw is safe"
    assert len(list(picture.marks("set"))) == sum("label" in one for one in answer["labels"]) == 2


def test_labels_in_doubt_say_so():
    hall = plugin(lambda case: 1 / 0, name="hall")
    picture = drawn(
        create_app(rules=with_plugin(hall)).test_client(), "kit/labels", EXAMPLES["kit/labels"]
    )
    assert picture.figure("red") == "not judged, at most 28.5\u00a0in"
    assert list(picture.bands("allowed")) == []


def test_waste_falls_with_the_number_of_lengths(client):
    picture, answer = both(client, "kit/lengths")
    wastes = [one["waste"] for one in answer["curve"]]
    bands = list(picture.bands("waste"))
    assert_in_proportion(
        [(bands[0][0], 0.0), *((end, si(one)) for (_, end), one in zip(bands, wastes, strict=True))]
    )
    assert picture.mark("chosen") == pytest.approx(bands[len(answer["lengths"]) - 1][1], abs=0.1)
    assert picture.figure("2 lengths") == "12\u00a0in chosen"


NAMES = ("<b>x</b>&\x0b", "\u5f13\u9053 \u00c4\u00d6\u00dc", "one that is much too long " * 3)


def many_labels():
    sets = [
        {"id": f"{place} {NAMES[place % 3]}", "arrow": {"length": q(26 + place / 4)}}
        for place in range(30)
    ]
    return {**EXAMPLES["kit/labels"], "sets": sets}


def one_label():
    body = {**EXAMPLES["kit/labels"], "archer": {}, "sets": many_labels()["sets"][:1]}
    del body["growth_rate"]
    return body


CASES = {
    "spine": ("spine", EXAMPLES["spine"]),
    "spine in wood": ("spine", {**EXAMPLES["spine"], "report_in": {"static_spine": "wood-lb"}}),
    "cut plan": ("cut-plan", EXAMPLES["cut-plan"]),
    "labels": ("kit/labels", EXAMPLES["kit/labels"]),
    "many labels": ("kit/labels", many_labels()),
    "one label": ("kit/labels", one_label()),
    "lengths": ("kit/lengths", EXAMPLES["kit/lengths"]),
}


@pytest.mark.parametrize("name", CASES)
def test_no_text_meets_another_or_leaves_the_page(client, name):
    assert list(overlaps(drawn(client, *CASES[name]))) == []


def test_names_from_callers_are_text(client):
    picture = drawn(client, "kit/labels", many_labels())
    assert "0 <b>x</b>&" in picture.rows
    assert "0 <b>x</b>&: 25\u00a0in." in picture.description
    assert len(picture.rows) == 31
