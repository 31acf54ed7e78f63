"""A drawing read back as XML: what it says, and where its marks are."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from drawmark.rules.configuration import Configuration, everything
from drawmark.rules.registry import Registry
from drawmark.web.wire.accept import SVG
from drawmark.web.wire.installed_rules import Rules, core_rules

_NAME = "{http://www.w3.org/2000/svg}"


class Picture:
    """An SVG that a service answered."""

    def __init__(self, text):
        self.root = ElementTree.fromstring(text)
        self.title = self._one("title").text
        self.description = self._one("desc").text
        self.texts = [one.text for one in self.root.iter(f"{_NAME}text")]
        self.rows = {
            self._label(group): group
            for group in self.root.iter(f"{_NAME}g")
            if group.get("class") == "row"
        }

    def _one(self, kind):
        return next(self.root.iter(f"{_NAME}{kind}"))

    @staticmethod
    def _label(group):
        """The first text of a row that is neither its heading nor its figures."""
        return next(one.text for one in group.iter(f"{_NAME}text") if one.get("class") is None)

    def mark(self, name):
        """The x of a mark."""
        return next(self.marks(name))

    def marks(self, name):
        """The x of every mark of a name."""
        for one in self.root.iter(f"{_NAME}path"):
            if one.get("class") == f"mark {name}":
                yield float(re.match(r"M(\S+) ", one.get("d"))[1])

    def band(self, name):
        """Both ends of a band."""
        return next(self.bands(name))

    def bands(self, name):
        """Both ends of every band of a name."""
        for one in self.root.iter(f"{_NAME}rect"):
            if one.get("class") == f"band {name}":
                x = float(one.get("x"))
                yield x, x + float(one.get("width"))

    def figure(self, label):
        """The figures of the row with a label."""
        return next(
            one.text
            for one in self.rows[label].iter(f"{_NAME}text")
            if (one.get("class") or "").startswith("figure")
        )


def ask(client, path, body, kind=SVG):
    reply = client.post(f"/v1/{path}", json=body, headers={"Accept": kind})
    assert reply.status_code == 200, reply.text
    assert reply.content_type == f"{kind}; charset=utf-8"
    return reply


def with_plugin(hall):
    """The core's rules and those of one plugin."""
    found = Registry(plugins=(*core_rules().registry.plugins, hall))
    ruleset = everything(found)
    configuration = Configuration(rulesets={ruleset.name: ruleset}, default=ruleset.name)
    return Rules(registry=found, configuration=configuration)


def drawn(client, path, body):
    return Picture(ask(client, path, body).data)


SIZES = {
    "word": 21 * 1.15,
    "title": 18 * 1.15,
    "advice": 13,
    "reason": 13,
    "heading": 11,
    "foot": 10.5,
    "figure start": 12.5 * 1.15,
    "figure end": 12.5 * 1.15,
    None: 12.5,
    "dimension": 12.5,
}
"""Sizes of texts by class; bold ones are wider."""


def boxes(element, left=0.0, top=0.0):
    """Where each text of a drawing stands: text, left, top, right, bottom."""
    moved = re.match(r"translate\((\S+) (\S+)\)", element.get("transform", ""))
    if moved:
        left, top = left + float(moved[1]), top + float(moved[2])
    if element.tag == f"{_NAME}text":
        kind, text = element.get("class"), element.text
        size = SIZES[kind]
        width = 0.6 * size * len(text)
        x = left + float(element.get("x"))
        x -= {"dimension": width / 2, "figure end": width}.get(kind, 0.0)
        y = top + float(element.get("y"))
        yield text, x, y - 0.8 * size, x + width, y + 0.2 * size
    for one in element:
        yield from boxes(one, left, top)


def overlaps(picture):
    """Pairs of texts that meet, and texts that leave the page."""
    _, _, width, height = map(float, picture.root.get("viewBox").split())
    placed = list(boxes(picture.root))
    for at, (text, *box) in enumerate(placed):
        if box[0] < 0 or box[1] < 0 or box[2] > width or box[3] > height:
            yield text, "the edge"
        for other, *far in placed[:at]:
            if box[0] < far[2] and far[0] < box[2] and box[1] < far[3] and far[1] < box[3]:
                yield text, other
