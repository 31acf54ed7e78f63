"""Papers to print: they say what the JSON answer says, and texts in them stay texts."""

from __future__ import annotations

import copy
from html.parser import HTMLParser

import pytest

from builders.wire import archer, arrow, bow, q
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.accept import DRAWN, HTML
from rules.bench import plugin
from web.drawings.pictures import ask, with_plugin

PAPERS = sorted(path for path, kinds in DRAWN.items() if HTML in kinds)
HOSTILE = "<img src=x onerror=alert(1)>\x0b & \"'"
VOID = {"meta", "br", "img", "link", "input", "hr"}


class Paper(HTMLParser):
    """A page read back: its words, its elements, and whether they are closed in order."""

    def __init__(self, text):
        super().__init__()
        self.open, self.elements, parts = [], [], []
        self.parts = parts
        self.feed(text)
        self.close()
        assert self.open == []
        self.words = " ".join(" ".join(parts).replace("\u00a0", " ").split())

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "style" not in self.open:
            self.parts.append(data)


def paper(client, path, body):
    return Paper(ask(client, path, body, HTML).text)


def told(figure):
    return f"{figure['value']:g} {figure['unit']}"


@pytest.mark.parametrize("path", PAPERS)
def test_page_carries_the_cautions_and_what_computed_it(client, path):
    page = paper(client, path, EXAMPLES[path])
    answer = client.post(f"/v1/{path}", json=EXAMPLES[path]).get_json()
    for caution in answer["cautions"]:
        assert caution in page.words
    for one in answer["not_checked"]:
        assert one["what"] in page.words
    assert f"Drawmark {answer['engine']['version']}, rule set default. Rules: core" in page.words


@pytest.mark.parametrize("path", PAPERS)
def test_page_shows_its_own_style_and_nothing_else(client, path):
    reply = ask(client, path, EXAMPLES[path], HTML)
    policy = reply.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; style-src 'sha256-")
    page = Paper(reply.text)
    assert [tag for tag, _ in page.elements if tag in ("script", "link", "img")] == []
    assert not any("style" in attrs or "onclick" in attrs for _, attrs in page.elements)
    assert sum(tag == "style" for tag, _ in page.elements) == 1


def test_archers_card_says_the_figures_and_where_they_come_from(client):
    body = EXAMPLES["fit-check"]
    page = paper(client, "fit-check", body)
    answer = client.post("/v1/fit-check", json=body).get_json()
    for name, words in (
        ("minimum", "Minimum: never draw a shorter arrow"),
        ("recommended", "Recommended"),
        ("longest_safe_draw", "Longest safe draw of this arrow"),
    ):
        assert f"{words} {told(answer[name])}" in page.words
    for term in answer["derivation"]:
        assert f"{term['term'].capitalize()} {told(term['value'])}" in page.words
    assert "AMO Standards, Field Publication FP-3 (2000)" in page.words
    for line in ("Checked by (signature)", "Next check"):
        assert line in page.words
    assert [tag for tag, _ in page.elements].count("svg") == 1


def test_archers_card_says_every_finding(client):
    body = {
        "archer": {"arm_span": q(66)},
        "bow": {"kind": "longbow"},
        "arrow": {"length": q(30)},
        "detail": "verdict",
    }
    page = paper(client, "fit-check", body)
    answer = client.post("/v1/fit-check", json={**body, "detail": "full"}).get_json()
    assert len(answer["findings"]) == 3
    for one in answer["findings"]:
        assert f"{one['severity'].capitalize()}. {one['message']}" in page.words


@pytest.mark.parametrize(
    ("length", "day", "words"),
    [
        (31, "2026-07-10", "Measure the draw again within 3 months. Figures"),
        (31, "2026-07-30", "Measure the draw again within 2 months. Figures"),
        (31, "2026-12-10", "Measure the draw again now. Figures"),
        (28.2, "2026-07-10", "Have longer arrows within"),
    ],
)
def test_archers_card_says_until_when_a_growing_archer_may_shoot(client, length, day, words):
    body = {
        "archer": archer(26, growth_rate=q(1.5), measured_on="2026-07-10", today=day),
        "bow": {"kind": "recurve"},
        "arrow": {"length": q(length)},
        "curve_months": 12,
    }
    assert words in paper(client, "fit-check", body).words


def test_labels_say_set_and_longest_draw(client):
    body = EXAMPLES["kit/labels"]
    page = paper(client, "kit/labels", body)
    answer = client.post("/v1/kit/labels", json=body).get_json()
    for one in answer["labels"]:
        assert f"{one['set']} Draw at most {told(one['label'])}" in page.words
    assert "If you draw further, do not shoot these." in page.words
    assert "12 months of the growth asked about" in page.words
    assert [tag for tag, _ in page.elements].count("section") == len(answer["labels"])


@pytest.mark.parametrize(
    ("archer_says", "words"),
    [
        ({}, "For the bow that was checked, and for no stronger one. Arrows"),
        ({"draw_control": "draw_stop"}, "Only for bows with the draw stop that was checked."),
    ],
)
def test_label_says_for_whom_it_holds(client, archer_says, words):
    body = {
        "sets": EXAMPLES["kit/labels"]["sets"],
        "bow": {"kind": "compound"},
        "archer": archer_says,
    }
    assert words in paper(client, "kit/labels", body).words


def test_label_without_a_safe_draw_says_so(client):
    body = {
        "sets": [{"id": "stub", "arrow": {"length": q(12)}}],
        "bow": {"kind": "recurve"},
        "archer": {"growth_allowance": q(5)},
    }
    page = paper(client, "kit/labels", body)
    assert "stub No draw is safe with this arrow under these rules." in page.words
    assert "Draw at most" not in page.words
    assert "Do not shoot these. Ask the coach." in page.words


def test_label_in_doubt_names_no_draw_to_hand_out_by():
    hall = plugin(lambda case: 1 / 0, name="hall")
    client = create_app(rules=with_plugin(hall)).test_client()
    answer = client.post("/v1/kit/labels", json=EXAMPLES["kit/labels"]).get_json()
    page = paper(client, "kit/labels", EXAMPLES["kit/labels"])
    most = told(answer["labels"][0]["longest_safe_draw_at_most"])
    assert f"Not judged. Do not hand out until it is. Never draw past {most}." in page.words
    assert "Draw at most" not in page.words


def test_evenings_list_says_who_shoots_what_and_who_needs_what(client):
    body = EXAMPLES["kit/assignments"]
    page = paper(client, "kit/assignments", body)
    answer = client.post("/v1/kit/assignments", json=body).get_json()
    for one in answer["assignments"]:
        assert f"{one['archer']} {one['set']} Pass {told(one['margin'])}" in page.words
    for one in answer["unequipped"]:
        assert f"{one['archer']} {told(one['would_need'])} {one['remedy']}" in page.words
    assert "2 of 3 archers have a set." in page.words


def test_evenings_list_says_who_shares_a_set_and_how_many_arrows(client):
    names = {"Uma": "first", "Ove": "second"}
    body = {
        "archers": [
            {"id": id, "detail": detail, "archer": archer(26), "bow": bow(30)}
            for id, detail in names.items()
        ],
        "sets": [{"id": "red", "count": 4, "arrow": arrow(28)}],
        "arrows_per_archer": 6,
        "least_arrows": 3,
    }
    words = paper(client, "kit/assignments", body).words
    assert "red 4 arrows." in words
    for other in names:
        assert f"Also shot by {other} in another detail. Collect and inspect the arrows" in words


def test_evenings_list_says_which_set_would_do_without_its_shortest_arrow(client):
    one = {"id": "red", "count": 7, "arrow": arrow(25), "next_shortest": q(28)}
    body = {
        "archers": [{"id": "Uma", "archer": archer(26), "bow": bow(30)}],
        "sets": [one],
        "arrows_per_archer": 6,
    }
    words = paper(client, "kit/assignments", body).words
    assert (
        "Or, if nobody else shoots red, set its shortest arrow aside: the next is 28 in." in words
    )


@pytest.mark.parametrize(
    ("inches", "words"),
    [
        (28, "The archer asked about draws too far for it already."),
        (27, "Good for 0 months of the growth asked about."),
        (26.9, "Good for 1 month of the growth asked about."),
        (25.5, "Good for 15 months of the growth asked about."),
    ],
)
def test_label_says_for_how_long_it_will_do(client, inches, words):
    """At 1.2 in a year a tenth of an inch a month, up to an inch below the arrow."""
    body = {
        "sets": [{"id": "red", "arrow": arrow(28)}],
        "bow": {"kind": "recurve"},
        "archer": archer(inches, growth_rate=q(1.2)),
    }
    assert words in paper(client, "kit/labels", body).words


def test_cut_sheet_says_how_long_and_how_many(client):
    body = EXAMPLES["order"]
    page = paper(client, "order", body)
    answer = client.post("/v1/order", json=body).get_json()
    for one in answer["lines"]:
        cut = "Do not cut" if one["uncut"] else told(one["tube_length"])
        row = f"{one['shaft']} {one['count']} {cut} {told(one['arrow_length'])}"
        assert row in page.words
    assert "Measure to the shaft's end, not to the point." in page.words
    assert "respirator" in page.words


def hostile(path):
    body = copy.deepcopy(EXAMPLES[path])
    for name in ("sets", "archers"):
        for place, one in enumerate(body.get(name, ())):
            one["id"] = f"{HOSTILE} {place}"
            if "shaft" in one:
                one["shaft"] = f"{HOSTILE} {place}"
    return body


@pytest.mark.parametrize("path", [path for path in PAPERS if path != "fit-check"])
def test_names_from_callers_are_text(client, path):
    body = hostile(path)
    page = paper(client, path, body)
    assert "<img src=x onerror=alert(1)> & \"'" in page.words
    assert [tag for tag, _ in page.elements if tag == "img"] == []


def test_figures_keep_their_unit(client):
    body = {
        "archer": archer(28.0),
        "bow": {"kind": "recurve"},
        "arrow": {"length": q(30)},
        "report_in": {"length": "mm"},
    }
    words = paper(client, "fit-check", body).words
    assert "Minimum: never draw a shorter arrow 736.6 mm" in words
    assert "Recommended 762 mm" in words
