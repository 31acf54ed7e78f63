"""Texts of callers, of a club's file and of plugins stay texts on every page and drawing."""

from __future__ import annotations

import copy
import re
from dataclasses import dataclass
from html.parser import HTMLParser
from importlib.resources import files
from xml.etree import ElementTree

import pytest

from drawmark import rules
from drawmark.rules.configuration import configure
from drawmark.rules.registry import Registry
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.server.service_views import LISTINGS
from drawmark.web.wire.accept import DRAWN, HTML, SVG
from drawmark.web.wire.installed_rules import Rules, core_rules
from rules.bench import plugin

HARMLESS = "harmless"
HOSTILE = {
    "a script": "<script>alert(1)</script>",
    "an element": "<img src=x onerror=alert(1)>",
    "the end of an attribute": "\" onmouseover=alert(1) x='",
    "the end of an attribute, turned": "' onmouseover=alert(1) x=\"",
    "the end of a style": "</style><script>alert(1)</script>",
    "the end of a title": "</title></textarea></svg><script>alert(1)</script>",
    "the end of CDATA": "]]><script>alert(1)</script><![CDATA[",
    "a comment": "--><script>alert(1)</script><!--",
    "an address": "javascript:alert(1)",
    "references": "&lt;script&gt;&#60;script&#62;&#x3c;b&#x3e;",
    "an entity": "<!DOCTYPE x [<!ENTITY e 'x'>]>&e;",
    "a template": "{{ 7654321 * 7 }}{% raw %}${7654321 * 7}",
    "code": "`</code><b>x`",
    "the other direction": "a\u202eb\u2066c\u2067d\u2069e\u202c",
    "control signs": "a\tb\nc",
}
CLUB = """
default = "hall"

[rulesets.hall]
title = TEXT
plugins = ["hostile"]

[[rulesets.hall.rules]]
id = "no-bow"
fact = "bow_kind"
among = ["recurve", "barebow", "longbow", "traditional", "compound", "other"]
severity = "caution"
message = TEXT
"""


def hostile_rules(folder, text):
    """Rules of a plugin and of a club's file that say a text wherever they may."""

    @dataclass(frozen=True, kw_only=True, slots=True)
    class Inputs:
        lane: float | None = rules.length(1.0, 90.0, text, default=None)
        side: str | None = rules.choice((text, "other"), text, default=None)

    def check(case):
        yield rules.caution(text)
        yield rules.Floor(id="hall", length=0.1, reason=text, terms=(rules.Term(text, 0.1),))

    def fail(case):
        raise ValueError(text)

    def made(id, check, **more):
        return rules.Rule(id=id, title=text, check=check, **more)

    local = plugin(made("says", check, inputs=Inputs), made("fails", fail),
                   name="hostile", version="1")  # fmt: skip
    registry = Registry(plugins=(*core_rules().registry.plugins, local))
    file = folder / "club.toml"
    escaped = "".join(f"\\u{ord(sign):04x}" for sign in text)
    file.write_text(CLUB.replace("TEXT", f'"{escaped}"'))
    return Rules(registry=registry, configuration=configure(registry, file))


def request_for(path, text):
    body = copy.deepcopy(EXAMPLES[path])
    for name in ("sets", "archers"):
        for place, one in enumerate(body.get(name, ())):
            one["id"] = f"{text} {place}"
            if "shaft" in one:
                one["shaft"] = f"{text} {place}"
    return body


class Page(HTMLParser):
    """The kinds of elements of a page, with the names of their attributes, and its words."""

    def __init__(self, text):
        super().__init__()
        self.kinds, self.links, self.words = set(), set(), []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.kinds.add((tag, *sorted(name for name, _ in attrs)))
        self.links |= {value for name, value in attrs if name in ("href", "src", "action")}

    handle_startendtag = handle_starttag

    def handle_decl(self, decl):
        self.kinds.add(("!", decl))

    def handle_comment(self, data):
        self.kinds.add(("comment", data))

    def handle_data(self, data):
        self.words.append(data)


def read_page(text):
    page = Page(text)
    return page.kinds, page.links, "".join(page.words)


def read_drawing(text):
    root = ElementTree.fromstring(text)
    kinds = {(one.tag, *sorted(one.attrib)) for one in root.iter()}
    return kinds, set(), "".join(root.itertext())


READERS = {HTML: read_page, SVG: read_drawing}
PLACES = [(path, kind) for path, kinds in DRAWN.items() for kind in kinds]
READ = ["/docs"]


@pytest.fixture(scope="module")
def ask(tmp_path_factory):
    """Ask a service whose every text is one: what it draws, or a page of it."""
    made = {}

    def asked(text, path, kind):
        if text not in made:
            made[text] = create_app(rules=hostile_rules(tmp_path_factory.mktemp("club"), text))
        client = made[text].test_client()
        if path in DRAWN:
            body = request_for(path, text)
            answer = client.post(f"/v1/{path}", json=body, headers={"Accept": kind})
        else:
            answer = client.get(path, headers={"Accept": kind})
        assert answer.status_code == 200, answer.text
        assert answer.mimetype == kind
        return answer

    return asked


def squeezed(text):
    return re.sub("[?\\s\u202a-\u202e\u2066-\u2069]+", "", text)


# Writing the document as a page takes half a second.
IN_THE_DOCUMENT = ("a script", "the end of an attribute", "code")
CASES = [
    *((path, kind, name) for path, kind in PLACES for name in HOSTILE),
    *((path, HTML, name) for path in READ for name in IN_THE_DOCUMENT),
]


@pytest.mark.parametrize(("path", "kind", "name"), CASES)
def test_a_text_makes_no_element_and_no_attribute(ask, path, kind, name):
    read, text = READERS[kind], HOSTILE[name]
    kinds, links, harmless = read(ask(HARMLESS, path, kind).text)
    answer = ask(text, path, kind)
    found_kinds, found_links, words = read(answer.text)
    assert found_kinds <= kinds
    assert found_links == links
    assert (squeezed(text)[:12] in squeezed(words)) is (HARMLESS in harmless)
    assert "53580247" not in words


@pytest.mark.parametrize(("path", "kind"), PLACES)
def test_no_text_turns_the_figures_behind_it_around(ask, path, kind):
    """Unicode's signs of direction (UAX 9) would show 28 as 82."""
    shown = ask(HOSTILE["the other direction"], path, kind).text
    assert not re.search("[\u202a-\u202e\u2066-\u2069]", shown)


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_a_problem_is_never_a_page(ask, text):
    client = create_app(rules=core_rules()).test_client()
    for body in ({text: 1}, {"ruleset": text}, {"local": {text: {}}}, {"bow": {"kind": text}}):
        answer = client.post("/v1/fit-check", json=body, headers={"Accept": HTML})
        assert answer.status_code == 422
        assert answer.mimetype == "application/problem+json"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
    answer = client.get(f"/{text}", headers={"Accept": HTML})
    assert answer.mimetype == "application/problem+json"
    assert text not in answer.text


PAGES = [*((path, HTML) for path in ("/", "/docs", "/problems/422")), *PLACES]


@pytest.mark.parametrize(("path", "kind"), PAGES)
def test_every_page_lets_a_browser_do_nothing_that_it_does_not_need(ask, path, kind):
    headers = ask(HARMLESS, path, kind).headers
    policy = dict(part.split(" ", 1) for part in headers["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["base-uri"] == policy["form-action"] == policy["frame-ancestors"] == "'none'"
    assert not re.search(r"unsafe|\*|https?:|data:|blob:", headers["Content-Security-Policy"])
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cache-Control"] == "no-store"
    assert "Set-Cookie" not in headers


def test_what_is_shown_as_a_page_is_known():
    """A new page comes into the tests above."""
    shown = {one.path for one in LISTINGS.values() if one.media_type == HTML}
    assert shown == set(READ)


@pytest.mark.parametrize("folder", ["drawmark.web.bench/files", "drawmark.web.document"])
def test_scripts_make_no_markup_of_texts(folder):
    package, _, below = folder.partition("/")
    scripts = [one for one in (files(package) / below).iterdir() if one.name.endswith(".js")]
    assert scripts
    sinks = r"(inner|outer)HTML|insertAdjacentHTML|document\.write|\beval\b|new Function|srcdoc"
    for script in scripts:
        text = script.read_text("utf-8")
        assert re.findall(rf"{sinks}|javascript:|setTimeout\([\"'`]", text) == []
