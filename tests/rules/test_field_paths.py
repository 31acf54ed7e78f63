"""The notation of needed fields: what it says, and what is not written in it."""

import pytest

from drawmark.rules.field_paths import FieldPath, Need, parse_need


@pytest.mark.parametrize(
    ("text", "need"),
    [
        pytest.param("arrow.length", Need("", (FieldPath(("arrow", "length")),)), id="path"),
        pytest.param("local", Need("", (FieldPath(("local",)),)), id="one name"),
        pytest.param(
            "archer.draws|archer.arm_span",
            Need("", (FieldPath(("archer", "draws")), FieldPath(("archer", "arm_span")))),
            id="alternatives",
        ),
        pytest.param(
            "bow.kind=compound", Need("", (FieldPath(("bow", "kind"), "compound"),)), id="word"
        ),
        pytest.param(
            "sets[] arrow.length", Need("sets", (FieldPath(("arrow", "length")),)), id="of each"
        ),
    ],
)
def test_needs_are_parsed(text, need):
    assert parse_need(text) == need


@pytest.mark.parametrize("text", ["", "arrow.", "a b", "a||b", "a.__import__('os')", "bow.kind="])
def test_what_is_not_a_need_is_refused(text):
    with pytest.raises(ValueError, match="is not a dotted path"):
        parse_need(text)
