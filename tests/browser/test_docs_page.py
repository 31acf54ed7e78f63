"""The page of the document in a real browser: its examples can be tried."""

from __future__ import annotations

import json

import pytest

pytest.importorskip("selenium")

pytestmark = pytest.mark.browser


def test_try_it_sends_the_example_and_shows_the_answer(page):
    page.open()
    page.driver.get(f"{page.url}/docs")
    (example,) = page.all('pre[data-path="v1/fit-check"]')
    (shown,) = page.all('pre[data-path="v1/fit-check"] ~ pre[role="status"]')
    (button,) = page.all('pre[data-path="v1/fit-check"] + button')
    page.script("arguments[0].click()", button)
    page.until(lambda: shown.text.startswith("200"))
    assert json.loads(shown.text.partition("\n")[2])["verdict"] == "pass"
    page.script("arguments[0].textContent = arguments[1]", example, "{}")
    page.script("arguments[0].click()", button)
    page.until(lambda: shown.text.startswith("422"))
    assert "#/archer" in shown.text
