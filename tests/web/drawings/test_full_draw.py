"""The arrow at full draw: its marks lie where the figures of the JSON answer put them."""

from __future__ import annotations

import re
import subprocess
import sys
from itertools import combinations

import pytest

from builders.wire import CLICKER, archer, arrow, bow, q
from drawmark import rules
from drawmark.fitting.units import UNITS
from drawmark.rules.registry import Plugin
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.wire.accept import SVG
from rules.bench import plugin, says
from web.drawings.pictures import Picture, ask, drawn, overlaps, with_plugin

RECURVE = {"kind": "recurve"}
DRAW = archer(28.0)
CASES = {
    "pass": EXAMPLES["fit-check"],
    "stop": {"archer": DRAW, "bow": RECURVE, "arrow": {"length": q(28.9)}},
    "far too short": {
        "archer": archer(30.0, growth_allowance=q(2), draw_length_convention="to_back"),
        "bow": RECURVE,
        "arrow": {"length": q(26)},
    },
    "very long": {"archer": archer(24.0), "bow": RECURVE, "arrow": {"length": q(40)}},
    "arm span": {
        "archer": {"arm_span": q(66)},
        "bow": {"kind": "longbow"},
        "arrow": {"length": q(30)},
    },
    "clicker in millimetres": {
        "archer": {
            "draw_length": q(700, "mm"),
            "draw_length_convention": "to_pivot",
            "draw_control": "clicker",
            "draw_variation": q(3, "mm"),
            "draw_count": 12,
            "growth_allowance": q(0, "mm"),
        },
        "bow": {**bow(40), **CLICKER},
        "arrow": {**arrow(), "length": q(745, "mm")},
    },
    "no common length": {
        "archer": archer(28.0, draw_control="clicker", growth_allowance=q(0)),
        "bow": {**CLICKER, "clicker_range": {"near": q(-2), "far": q(-1)}},
        "arrow": {"length": q(24.5), "point": {"exposed_length": q(0.5)}},
    },
    "back and draws": {
        "archer": {
            "draws": [q(one) for one in (27.5, 28, 28.5, 29)],
            "draw_length_convention": "standard",
        },
        "bow": {"kind": "compound", "back_position": q(3)},
        "arrow": {"length": q(31)},
    },
}
OFFSETS = {"standard": 1.75 * 0.0254, "to_pivot": 0.0}


def metres(figure):
    return float(UNITS[figure["unit"]].to_si(figure["value"]))


@pytest.mark.parametrize("name", CASES)
def test_marks_lie_where_the_figures_are(client, name):
    body = CASES[name]
    picture = drawn(client, "fit-check", body)
    answer = client.post("/v1/fit-check", json=body).get_json()
    draw = sum(
        metres(term["value"]) for term in answer["derivation"] if term["term"].startswith("draw ")
    )
    length = metres(body["arrow"]["length"])
    pivot, end = picture.mark("pivot"), picture.mark("end")
    scale = (end - pivot) / (length - draw)
    minimum = metres(answer.get("minimum") or answer["minimum_at_least"])
    placed = {"minimum": minimum - draw, "back": metres(body["bow"].get("back_position", q(1.75)))}
    if "recommended" in answer:
        placed["recommended"] = metres(answer["recommended"]) - draw
    for mark, at in placed.items():
        assert picture.mark(mark) == pytest.approx(pivot + at * scale, abs=0.1), mark
    if "window" in answer:
        ends = [metres(answer["window"][one]) - draw for one in ("shortest", "longest")]
        assert picture.band("recommended") == pytest.approx(
            tuple(pivot + at * scale for at in ends), abs=0.1
        )
    back_end, band_end = picture.band("longest-draw")
    assert band_end == pytest.approx(end, abs=0.1)
    further = metres(answer["draw_control"]["allowance"])
    further += sum(
        metres(term["value"])
        for term in answer["derivation"]
        if term["term"] in ("growth allowance", "margin for an estimated draw")
    )
    assert end - back_end == pytest.approx(further * scale, abs=0.1)
    blade = body["bow"].get("clicker_range")
    if blade:
        assert picture.band("clicker") == pytest.approx(
            tuple(pivot + metres(blade[one]) * scale for one in ("near", "far")), abs=0.1
        )


@pytest.mark.parametrize("name", CASES)
def test_figures_and_verdict_are_those_of_the_answer(client, name):
    picture = drawn(client, "fit-check", CASES[name])
    answer = client.post("/v1/fit-check", json=CASES[name]).get_json()
    words = {
        "stop": "Stop",
        "caution": "Caution",
        "indeterminate": "Not judged",
        "pass": "Pass",
    }
    word = words[answer["verdict"]]
    assert word in picture.texts
    assert picture.title == f"The arrow at full draw: {word}"
    label = "Minimum" if "minimum" in answer else "Minimum, at least"
    figure = answer.get("minimum") or answer["minimum_at_least"]
    assert picture.figure(label) == f"{figure['value']:g}\u00a0{figure['unit']}"
    for finding in answer["findings"]:
        if finding["severity"] == answer["verdict"]:
            assert finding["message"] in picture.description


@pytest.mark.parametrize("name", CASES)
def test_no_text_meets_another_or_leaves_the_page(client, name):
    assert list(overlaps(drawn(client, "fit-check", CASES[name]))) == []


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("pass", "2\u00a0in past the back of the bow"),
        ("far too short", "4\u00a0in behind the back of the bow"),
    ],
)
def test_it_says_where_the_shaft_ends(client, name, words):
    picture = drawn(client, "fit-check", CASES[name])
    assert f"Enlarged: the shaft ends {words}" in picture.texts
    assert f"At this draw the shaft ends {words}." in picture.description


@pytest.mark.parametrize("name", ["pass", "stop", "far too short"])
def test_the_whole_arrow_is_to_scale(client, name):
    body = CASES[name]
    (dimensions,) = (
        one.get("d")
        for one in drawn(client, "fit-check", body).root.iter()
        if one.get("class") == "rule"
    )
    nock, draw, again, end = map(float, re.findall(r"[MH](\S+?)(?= |$|M)", dimensions))
    assert nock == again
    asked = metres(body["archer"]["draw_length"]) / metres(body["arrow"]["length"])
    assert (draw - nock) / (end - nock) == pytest.approx(asked, abs=1e-3)


def test_a_rule_that_fails_is_the_reason():
    hall = plugin(lambda case: 1 / 0, name="hall")
    client = create_app(rules=with_plugin(hall)).test_client()
    picture = drawn(client, "fit-check", CASES["pass"])
    assert "Not judged" in picture.texts
    reason = "r of hall could not be evaluated: "
    assert any(text.startswith(reason) for text in picture.texts)
    assert reason in picture.description


@pytest.mark.parametrize(
    "path", ["fit-check", "cut-plan", "kit/labels", "kit/lengths"], ids=lambda path: path
)
@pytest.mark.parametrize(
    ("hall", "words"),
    [
        pytest.param(Plugin(name="hall", version="1", status="failed", error="lost"), "hall"),
        pytest.param(plugin(lambda case: 1 / 0, name="hall"), "r of hall"),
    ],
    ids=["a plugin that failed to load", "a rule that fails"],
)
def test_it_names_what_could_not_be_evaluated(hall, words, path):
    client = create_app(rules=with_plugin(hall)).test_client()
    picture = drawn(client, path, EXAMPLES[path])
    assert f"Could not be evaluated: {words}." in picture.texts
    assert list(overlaps(picture)) == []


def test_a_draw_that_grew_since_it_was_measured_is_drawn_as_it_is_today(client):
    body = {
        "archer": archer(26, growth_rate=q(1.5), measured_on="2026-01-10", today="2026-07-10"),
        "bow": RECURVE,
        "arrow": {"length": q(31)},
    }
    picture = drawn(client, "fit-check", body)
    (term, *_) = client.post("/v1/fit-check", json=body).get_json()["derivation"]
    draw = f"{term['value']['value'] + 1.75:.3f}"
    assert f"Draw, standard, grown since measured: {draw}\u00a0in" in picture.texts
    assert list(overlaps(picture)) == []


def test_each_verdict_has_a_shape_of_its_own():
    from drawmark.web.drawings.verdicts import SIGNS, WORDS

    assert SIGNS.keys() == WORDS.keys() == {"stop", "indeterminate", "caution", "pass"}
    assert all(one != other for one, other in combinations(SIGNS.values(), 2))


def test_report_units_are_kept(client):
    body = {**CASES["pass"], "report_in": {"length": "mm"}}
    picture = drawn(client, "fit-check", body)
    assert picture.figure("This arrow") == "749.3\u00a0mm"
    assert picture.mark("end") == drawn(client, "fit-check", CASES["pass"]).mark("end")


def test_detail_changes_nothing(client):
    body = CASES["stop"]
    full = ask(client, "fit-check", {**body, "detail": "full"}).data
    assert ask(client, "fit-check", {**body, "detail": "verdict"}).data == full


def test_texts_of_plugins_are_text():
    hostile = '<script>alert("1")</script> & ]]> &lt; \u202e'
    hall = plugin(says(rules.caution(hostile)), name="hall")
    app = create_app(rules=with_plugin(hall))
    reply = ask(app.test_client(), "fit-check", CASES["pass"])
    assert b"<script" not in reply.data
    assert '<script>alert("1")</script> &' in Picture(reply.data).description


def test_browser_may_show_it_and_nothing_else(client):
    reply = ask(client, "fit-check", CASES["pass"])
    policy = reply.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; style-src 'sha256-")
    assert "script" not in policy
    assert b"style=" not in reply.data
    assert b"http://www.w3.org/2000/svg" in reply.data
    assert reply.data.count(b"http") == 1
    assert reply.headers["Vary"] == "Accept"


def test_faults_stay_problems(client):
    reply = client.post("/v1/fit-check", json={}, headers={"Accept": SVG})
    assert (reply.status_code, reply.content_type) == (422, "application/problem+json")


def test_worker_that_never_draws_imports_nothing_for_it():
    code = (
        "import sys\n"
        "from drawmark.web import create_app\n"
        "from drawmark.web.document.examples import EXAMPLES\n"
        "client = create_app().test_client()\n"
        "def ask(kind):\n"
        "    body = EXAMPLES['fit-check']\n"
        "    client.post('/v1/fit-check', json=body, headers={'Accept': kind})\n"
        "    print(any('drawing' in one for one in sys.modules))\n"
        "ask('application/json')\n"
        "ask('image/svg+xml')\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "True"]
