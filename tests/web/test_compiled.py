"""What threads share is made before they start: made by several at once, it ends the process."""

from __future__ import annotations

import pytest

from drawmark.web.batch import reading
from drawmark.web.batch.reading import compile_reader
from drawmark.web.calculations import batch_item, blueprint, operations_of
from drawmark.web.installed import core_rules
from drawmark.web.settings import Settings


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

            patch.setattr(f"drawmark.web.calculations.{name}", keep)
        blueprint(core_rules(), Settings())
    return made


def test_every_operation_has_its_decoder_before_the_first_request(compiled):
    assert len(compiled) == len(operations_of(core_rules())) + 1
    lazy = {"schema", "struct", "decoder", "needs", "_convert", "_convert_local"}
    assert [(one.path, lazy - vars(one).keys()) for one in compiled] == [
        (one.path, set()) for one in compiled
    ]


def test_the_decoder_of_batches_too(compiled):
    before = reading._decoder_of.cache_info()
    compile_reader(compiled[-1])
    after = reading._decoder_of.cache_info()
    assert (after.hits, after.misses) == (before.hits + 1, before.misses)
