"""What a coach does on the page, in a real browser; `page` also holds it to its own host."""

from __future__ import annotations

import base64
import json
import re

import pytest

pytest.importorskip("selenium")

from selenium.webdriver.common.keys import Keys

from browser.page import BEGINNER, Page

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]
RACK = (("archers", (("Ines", "25"), ("Falk", "27"), ("Odd", "29.5"))),
        ("sets", (("blue", "27.5", "7"), ("red", "29.5", "6"))))  # fmt: skip


def test_asks_for_what_is_missing_before_it_judges(page):
    page.open()
    assert page.verdict == ""
    assert "the draw, what the draw was measured to, the kind of bow" in page.text("said")
    page.type("archer/draw_length", "28")
    page.until(lambda: "needed: what the draw" in page.text("said"))
    assert page.one("measured").is_displayed()


def test_beginner_gets_verdict_drawing_reasons_and_figures(page):
    page.open().fill(BEGINNER)
    assert page.verdict == "pass"
    assert page.text("said").startswith("Pass")
    (drawing,) = page.all("#drawing svg")
    assert drawing.size["width"] > 500
    assert page.text("drawing-title") == "The arrow at full draw: Pass"
    assert "27 in" in page.text("reasons")
    assert "coach" in page.text("before")


VERDICTS = [
    ("arrow/length", "26.5", "stop", "shorter than the minimum"),
    ("arrow/length", "27 1/4", "caution", "half an inch"),
    ("arrow/length", "70 cm", "pass", "Look at every arrow"),
    ("arrow/mass", "200", "pass", "Look at every arrow"),
    ("bow/draw_weight", "60", "stop", "light"),
]


def test_verdict_follows_what_is_typed(page):
    page.open().fill(BEGINNER)
    for field, text, verdict, words in VERDICTS:
        page.type(field, text)
        page.until(lambda verdict=verdict: page.verdict == verdict)
        page.until(lambda words=words: words in page.text("said"))
        (sign,) = page.all("#sign svg")
        assert verdict in sign.get_attribute("class")


FAULTS = [
    ("arrow/length", "29 gr", "gr measures mass"),
    ("arrow/length", "28 mm", "Must be"),
    ("archer/draw_length", "long", "Must be"),
    ("bow/draw_weight", "-3", "Must be"),
]


def test_fault_stands_at_its_field_and_ends_when_mended(page):
    page.open().fill(BEGINNER)
    for field, text, words in FAULTS:
        page.type(field, text)
        page.until(lambda field=field, words=words: words in page.text(f"{field}-fault"))
        assert page.one(field).get_attribute("aria-invalid") == "true"
        assert page.verdict == ""
        assert "Not checked" in page.text("said")
        assert not page.all("#drawing svg")
        page.type(field, BEGINNER.get(field, "30"))
        page.until(lambda: page.all("#drawing svg"))
        assert page.text(f"{field}-fault") == ""


def test_change_of_units_changes_no_figure(page):
    page.open().fill(BEGINNER)
    assert page.verdict == "pass"
    page.type("unit-length", "mm")
    page.until(lambda: "711.2 mm" in page.text("reasons"))
    assert page.one("arrow/length").get_attribute("value") == "29 in"
    assert page.verdict == "pass"
    page.type("archer/draw_length", "700")
    page.until(lambda: page.verdict == "caution")


def test_plugin_asks_for_its_inputs_and_finds(page):
    page.open().fill(BEGINNER)
    page.type("local/short-lanes/distance", "18 m")
    page.until(lambda: page.verdict == "caution")
    assert "too long for a first evening" in page.text("reasons")
    assert "From the rules of short-lanes" in page.text("reasons")
    page.type("local/short-lanes/distance", "200 m")
    assert "Must be" in page.fault("local/short-lanes/distance")


def test_a_plugin_may_have_any_name(page):
    """Also one that every object of JavaScript inherits."""
    names = ["local/constructor/toString", "local/__proto__/lane"]
    read = """
        const [names, done] = arguments;
        const form = document.createElement("form");
        for (const name of names) {
          const field = document.createElement("input");
          field.dataset.field = name;
          field.value = "18 m";
          form.append(field);
        }
        import("./fields.js").then(({ read }) => done([JSON.stringify(read(form)), {}.lane]));
    """
    text, polluted = page.open().driver.execute_async_script(read, names)
    assert json.loads(text) == {
        "local": {"constructor": {"toString": "18 m"}, "__proto__": {"lane": "18 m"}}
    }
    assert polluted is None


def test_slider_shows_where_a_cut_turns_the_verdict(page):
    page.open().fill(BEGINNER)
    page.until(lambda: page.one("shorter").is_displayed())
    runs = [(part.get_attribute("class"), part.text) for part in page.all("#turns li")]
    assert [verdict for verdict, _ in runs] == ["pass", "caution", "stop"]
    shown = page.text("turns").replace("\u00a0", " ")
    # The core's minimum for this draw, and half an inch above it.
    assert re.search(r"Pass from 29 in down to 27\.5 in", shown)
    assert re.search(r"Caution from 27\.45 in down to 27 in", shown)
    slider = page.one("slider")
    slider.send_keys(Keys.HOME)
    page.until(lambda: page.verdict == "stop")
    assert "Stop" in slider.get_attribute("aria-valuetext")
    assert page.one("arrow/length").get_attribute("value") == "29"
    slider.send_keys(Keys.END)
    page.until(lambda: page.verdict == "pass")


def test_answers_that_come_late_are_not_shown(page):
    page.open().fill(BEGINNER)
    field = page.one("arrow/length")
    for _ in range(3):
        page.type(field, "26")
        page.type(field, "29")
    assert page.verdict == "pass"
    page.until(lambda: page.text("drawing-title").endswith("Pass"))


def fill_rack(page):
    page.type("convention", "standard")
    for table, rows in RACK:
        for at, texts in enumerate(rows):
            fields = [one for one in page.row(table, at) if one.tag_name == "input"]
            for field, text in zip(fields, texts, strict=False):
                page.type(field, text)
    # While it is filled in, what was there before is answered too.
    page.until(lambda: page.text("evening-said") == "2 of 3 archers have a set.")


def test_rack_says_who_shoots_what_and_who_is_left(page):
    page.open()
    fill_rack(page)
    rows = [" ".join(row.text.split()) for row in page.all("#handed tbody tr")]
    assert rows[0].startswith("Ines blue Pass")
    assert rows[1].startswith("Falk red Pass")
    assert "Odd none No set" in rows[2]
    assert "coach" in page.text("handed")
    page.click('[data-add="sets"]')
    assert len(page.all("#sets tr")) == 4
    page.type(page.row("sets", 1)[1], "29.5 gr")
    page.until(lambda: page.all("#sets [aria-invalid]"))
    (fault,) = [one.text for one in page.all("#sets .fault") if one.text]
    assert "gr measures mass" in fault


PAPERS = [
    ('[data-paper="fit-check"]', "Archer's card"),
    ("#order button", "Cut"),
    ('[data-paper="kit/assignments"]', "The evening's list"),
    ('[data-paper="kit/labels"]', "blue"),
]


def test_every_paper_opens_by_one_click_and_prints(page):
    page.open().fill(BEGINNER)
    (stock,) = page.all('[data-field="sets/0/stock_length"]')
    page.type(stock, "32")
    fill_rack(page)
    for selector, words in PAPERS:
        text, pdf = page.paper(selector)
        assert words in text
        printed = base64.b64decode(pdf)
        assert printed.startswith(b"%PDF")
        assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1


def test_fault_of_a_paper_stands_at_its_field(page):
    page.open().fill(BEGINNER)
    page.click("#order button")
    page.until(lambda: page.text("stock-fault") or page.text("paper-fault"))
    assert "stock_length" in page.text("paper-fault") or page.text("stock-fault")
    assert len(page.driver.window_handles) == 1


def test_a_tab_that_is_not_opened_is_told(page):
    page.open().fill(BEGINNER)
    page.script("window.open = () => null")
    page.click('[data-paper="fit-check"]')
    page.until(lambda: "opened no tab" in page.text("paper-fault"))


def test_keyboard_alone_is_enough(page):
    page.open()
    page.script("document.body.tabIndex = -1; document.body.focus()")
    keys = {
        "archer/draw_length": "28",
        "archer/draw_length_convention": "the pivot point plus",
        "bow/kind": "recurve",
        "arrow/length": "28.5",
    }
    seen = []
    for _ in range(40):
        page.driver.switch_to.active_element.send_keys(Keys.TAB)
        focused = page.driver.switch_to.active_element
        seen.append(focused.get_attribute("id"))
        if seen[-1] in keys:
            focused.send_keys(keys[seen[-1]])
        if seen[-1] == "arrow/length":
            break
    assert [one for one in seen if one in keys] == list(keys)
    page.until(lambda: page.verdict == "stop")
    page.until(lambda: page.one("shorter").is_displayed())
    page.driver.switch_to.active_element.send_keys(Keys.TAB)
    focused = page.driver.switch_to.active_element
    assert focused.get_attribute("id") == "slider"
    outline = page.script("return getComputedStyle(arguments[0]).outlineStyle", focused)
    assert outline != "none"


def test_token_is_asked_for_and_kept_in_memory_only(driver, guarded):
    process, token = guarded
    page = Page(driver, process.url).open()
    field = page.one("token")
    page.until(field.is_displayed)
    field.send_keys("wrong", Keys.ENTER)
    page.until(lambda: "not known" in page.text("token-fault"))
    field.clear()
    field.send_keys(token, Keys.ENTER)
    page.until(lambda: not field.is_displayed())
    page.fill(BEGINNER)
    page.until(lambda: page.verdict == "pass")
    kept = page.script(
        "return JSON.stringify([localStorage, sessionStorage, document.cookie, location.href])"
    )
    assert token not in kept
    assert token not in page.driver.page_source
    page.open()
    assert page.one("token").is_displayed()
    assert page.complaints() == []


def luminance(colour):
    channels = [int(one) / 255 for one in re.findall(r"\d+", colour)[:3]]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in channels]
    return sum(weight * one for weight, one in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_colours_follow_the_scheme(page):
    page.open().fill(BEGINNER)
    assert page.verdict == "pass"
    places = (("html", "backgroundColor"), ("html", "color"), ("#drawing svg", "backgroundColor"))
    read = "return getComputedStyle(document.querySelector(arguments[0]))[arguments[1]]"
    for scheme in ("light", "dark"):
        page.see(scheme)
        ground, ink, drawing = (luminance(page.script(read, *place)) for place in places)
        assert (ground > ink) == (scheme == "light") == (drawing > 0.5)


@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_runs_off_the_side_and_nobody_is_kept_out(page, axe, width):
    page.open(width=width).fill(BEGINNER | {"arrow/length": "27 1/4"})
    fill_rack(page)
    page.type(page.row("sets", 0)[1], "2 gr")
    page.until(lambda: page.all("#sets [aria-invalid]"))
    page.until(lambda: page.one("shorter").is_displayed())
    page.script("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert page.script("return document.documentElement.scrollWidth") <= width
    assert page.all("#drawing svg")[0].size["width"] >= min(width * 0.9, 500)
    page.command("Runtime.evaluate", expression=axe)
    for scheme in ("light", "dark"):
        page.see(scheme)
        found = page.driver.execute_async_script(
            "axe.run().then((done) => arguments[0](done.violations.map((one) =>"
            " `${one.id}: ${one.nodes.map((node) => node.html.slice(0, 120)).join(' | ')}`)))"
        )
        assert found == []
