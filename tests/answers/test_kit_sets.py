"""A mixed box sorted into sets: what counts, what is put aside, what is said of it."""

from __future__ import annotations

import pytest

from builders.wire import q


def arrow(length=28.5, grains=350.0, **more):
    return {"length": q(length), "mass": q(grains, "gr"), **more}


@pytest.fixture
def sort(ask):
    def send(*arrows, size=2, wanted=200, **more):
        status, answer = ask("kit/sets", {"arrows": arrows, "arrows_per_set": size, **more})
        assert status == wanted, answer
        return answer

    return send


def sets_of(answer):
    return [[one["index"] for one in each["arrows"]] for each in answer["sets"]]


@pytest.mark.parametrize(
    ("first", "second", "together"),
    [
        # the usual ranges, 1/16 in and 5 gr, are common practice without a source
        (arrow(28.5), arrow(28.5625), True),
        (arrow(28.5), arrow(28.565), False),
        (arrow(grains=350), arrow(grains=355), True),
        (arrow(grains=350), arrow(grains=355.1), False),
        # 10 % of the weaker: 600 against 660 and 665 thousandths
        (
            arrow(static_spine=q(600, "astm")),
            arrow(static_spine=q(660, "astm")),
            True,
        ),
        (
            arrow(static_spine=q(600, "astm")),
            arrow(static_spine=q(665, "astm")),
            False,
        ),
        (arrow(balance_point=q(400, "mm")), arrow(balance_point=q(410, "mm")), True),
        (arrow(balance_point=q(400, "mm")), arrow(balance_point=q(411, "mm")), False),
        (arrow(point_mass=q(100, "gr")), arrow(point_mass=q(102, "gr")), True),
        (arrow(point_mass=q(100, "gr")), arrow(point_mass=q(103, "gr")), False),
        (arrow(kind="lake 700"), arrow(kind="lake 700"), True),
        (arrow(kind="lake 700"), arrow(kind="heath 700"), False),
        # A figure that one arrow has and the other lacks: not known, so not placed.
        (arrow(balance_point=q(400, "mm")), arrow(), False),
        ({"length": q(28.5)}, {"length": q(28.5)}, True),
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_what_is_alike(sort, first, second, together, turned):
    answer = sort(*((second, first) if turned else (first, second)))
    assert sets_of(answer) == ([[0, 1]] if together else [])


@pytest.mark.parametrize("unit", ["in", "mm", "cm", "m"])
def test_the_tolerance_is_the_same_in_every_unit(sort, unit):
    size = {"in": 1.0, "mm": 25.4, "cm": 2.54, "m": 0.0254}[unit]
    pair = [{"length": q(length * size, unit)} for length in (28.5, 28.5625)]
    assert sets_of(sort(*pair)) == [[0, 1]]


def test_stated_tolerances(sort):
    pair = (arrow(28.5), arrow(28.6))
    assert sets_of(sort(*pair)) == []
    answer = sort(*pair, tolerances={"length": q(0.1)})
    assert sets_of(answer) == [[0, 1]]
    sources = {one["field"]: one["source"] for one in answer["counted"]}
    assert sources == {"length": "request", "mass": "set-tolerance"}


def test_an_arrow_that_was_not_measured_is_told(sort):
    answer = sort(arrow(), arrow(), {"id": "bent", "mass": q(350, "gr")}, {"length": q(28.5)})
    assert sets_of(answer) == [[0, 1]]
    assert answer["unplaced"] == [
        {"index": 2, "id": "bent", "fields": ["length"]},
        {"index": 3, "fields": ["mass"]},
    ]
    assert answer["left_over"] == []


def test_the_shortest_arrow_and_the_ranges_of_a_set(sort):
    answer = sort(arrow(28.52, 351), arrow(28.5, 353, id="b"), arrow(28.51, 350), size=3)
    (found,) = answer["sets"]
    assert found["shortest_length"] == q(28.5)
    assert found["shortest_arrow"] == {"index": 1, "id": "b"}
    assert found["ranges"][1] == {
        "field": "mass",
        "least": q(350.0, "gr"),
        "greatest": q(353.0, "gr"),
    }
    assert answer["most_sets"] == 1


def test_what_an_incomplete_set_needs(sort):
    answer = sort(arrow(28.5, 351), arrow(28.5, 354), arrow(31, 400), size=3)
    (found,) = answer["incomplete"]
    assert [one["index"] for one in found["arrows"]] == [0, 1]
    assert found["needed"] == 1
    # 354 - 5 = 349 and 351 + 5 = 356
    assert found["wanted"][1] == {
        "field": "mass",
        "least": q(349.0, "gr"),
        "greatest": q(356.0, "gr"),
    }
    assert [one["index"] for one in answer["left_over"]] == [0, 1, 2]


def test_longest_sets_first_and_the_same_each_time(sort):
    box = [arrow(27 + at % 7 / 2, 340 + at % 3) for at in range(60)]
    answer = sort(*box, size=4)
    lengths = [one["shortest_length"]["value"] for one in answer["sets"]]
    assert lengths == sorted(lengths, reverse=True)
    assert len(lengths) == answer["most_sets"] == 14
    assert answer == sort(*box, size=4)


@pytest.mark.parametrize(
    ("arrows", "more", "pointer"),
    [
        ([], {}, "#/arrows"),
        ([arrow()] * 2001, {}, "#/arrows"),
        ([arrow(id="a"), arrow(id="a")], {}, "#/arrows/0/id"),
        ([arrow()], {"size": 1}, "#/arrows_per_set"),
        ([arrow()], {"tolerances": {"length": q(0)}}, "#/tolerances/length"),
    ],
)
def test_what_is_refused(sort, arrows, more, pointer):
    answer = sort(*arrows, **more, wanted=422)
    assert answer["errors"][0]["pointer"].startswith(pointer)


def test_it_is_cautious(sort):
    answer = sort(arrow(), arrow())
    assert "qualified coach" in answer["cautions"][0]
    assert any("alike in the figures that were measured" in one for one in answer["cautions"])
    assert answer["not_told"]
