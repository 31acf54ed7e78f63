"""The coach's page in a real browser, as hands and eyes use it."""

from __future__ import annotations

import json
from urllib.parse import urlsplit

from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import Select, WebDriverWait

WAIT = 10
BEGINNER = {
    "archer/draw_length": "26",
    "archer/draw_length_convention": "standard",
    "bow/kind": "recurve",
    "arrow/length": "29",
}


def start_browser(chromium, chromedriver):
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for argument in (
        "--headless=new",
        "--no-sandbox",
        "--disable-dev-shm-usage",
        "--disable-background-networking",
        "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
    ):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    return webdriver.Chrome(options=options, service=Service(chromedriver))


class Page:
    """The page of one service."""

    def __init__(self, driver, url):
        self.driver, self.url = driver, url
        self.hosts = set()

    def open(self, width=1280):
        size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
        self.command("Emulation.setDeviceMetricsOverride", **size)
        self.see("light")
        self.driver.get(self.url)
        self.until(lambda: self.text("said"))
        return self

    def see(self, scheme):
        feature = {"name": "prefers-color-scheme", "value": scheme}
        self.command("Emulation.setEmulatedMedia", features=[feature])

    def command(self, name, **parameters):
        return self.driver.execute_cdp_cmd(name, parameters)

    def script(self, text, *given):
        return self.driver.execute_script(text, *given)

    def until(self, condition):
        return WebDriverWait(self.driver, WAIT, 0.05).until(lambda _: condition())

    def one(self, id):
        return self.driver.find_element(By.ID, id)

    def all(self, selector):
        return self.driver.find_elements(By.CSS_SELECTOR, selector)

    def text(self, id):
        return " ".join(self.one(id).get_attribute("textContent").split())

    def type(self, field, text):
        """Fill in a field, by its name."""
        field = self.one(field) if isinstance(field, str) else field
        unfold = "arguments[0].closest('details')?.setAttribute('open', '')"
        self.script(f"{unfold}; arguments[0].select?.()", field)
        if field.tag_name == "select":
            Select(field).select_by_value(text)
        else:
            field.send_keys(text)

    def fill(self, fields):
        for name, text in fields.items():
            self.type(name, text)
        return self

    @property
    def verdict(self):
        """The verdict that stands, once nothing is asked any more."""
        self.until(lambda: self.one("verdict").get_attribute("aria-busy") == "false")
        return self.one("verdict").get_attribute("class")

    def fault(self, field):
        """What is said at a field."""
        place = self.one(f"{field}-fault")
        self.until(lambda: place.text)
        assert self.one(field).get_attribute("aria-invalid") == "true"
        return place.text

    def row(self, table, at):
        """The fields of a row of the rack."""
        return self.all(f"#{table} tr")[at].find_elements(By.CSS_SELECTOR, "input, select")

    def click(self, selector):
        (button,) = self.all(selector)
        self.script("arguments[0].scrollIntoView({block: 'center'})", button)
        button.click()

    def paper(self, selector):
        """Click for a paper, and give its text and its PDF."""
        bench = self.driver.current_window_handle
        self.click(selector)
        self.until(lambda: len(self.driver.window_handles) == 2)
        self.driver.switch_to.window(
            next(one for one in self.driver.window_handles if one != bench)
        )
        try:
            self.until(lambda: self.all(".sheet"))
            (sheet,) = self.all(".sheet")
            printed = self.command("Page.printToPDF", preferCSSPageSize=True, printBackground=False)
            return sheet.text, printed["data"]
        finally:
            self.driver.close()
            self.driver.switch_to.window(bench)

    def hosts_asked(self):
        """Every host that a request went to."""
        for entry in self.driver.get_log("performance"):
            message = json.loads(entry["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                target = urlsplit(message["params"]["request"]["url"])
                if target.scheme not in ("blob", "data", "about"):
                    self.hosts.add(target.hostname)
        return self.hosts

    def complaints(self):
        """What the console says, but for refusals by the service that a test is about."""
        return [
            entry["message"]
            for entry in self.driver.get_log("browser")
            if not any(f"status of {status} " in entry["message"] for status in (401, 422))
        ]
