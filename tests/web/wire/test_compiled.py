"""What threads share is made before they start: made by several at once, it ends the process."""

from __future__ import annotations

import pytest

from drawmark.web.batch import read_items
from drawmark.web.batch.read_items import compile_reader
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules
from drawmark.web.wire.operations import batch_item, blueprint, operations_of


@pytest.fixture(scope="module")
def compiled():
    """The operations that a service was made of, unasked."""
    made = []
    with pytest.MonkeyPatch.context() as patch:
        for name, several in (("operations_of", True), ("batch_item", False)):
            give = operations_of if several else batch_item

            def keep(rules, give=give, several=several):
                given = give(rules)
                made.extend(given if several else [given])
                return given

            patch.setattr(f"drawmark.web.wire.operations.{name}", keep)
        blueprint(core_rules(), Settings())
    return made


def test_every_operation_has_its_decoder_before_the_first_request(compiled):
    assert len(compiled) == len(operations_of(core_rules())) + 1
    lazy = {"schema", "struct", "decoder", "needs", "_convert", "_convert_local"}
    assert [(one.path, lazy - vars(one).keys()) for one in compiled] == [
        (one.path, set()) for one in compiled
    ]


def test_the_decoder_of_batches_too(compiled):
    before = read_items._decoder_of.cache_info()
    compile_reader(compiled[-1])
    after = read_items._decoder_of.cache_info()
    assert (after.hits, after.misses) == (before.hits + 1, before.misses)
