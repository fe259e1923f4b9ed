"""A copy of a store for a process that reaches no server and writes nothing.

Figures: invented.
"""

import pytest

from capcheck.store import PartKey, Statement, open_store
from capcheck.values import InputError, Interval


def test_a_copy_knows_what_the_store_knows_and_needs_no_log_beside_it(store, given, tmp_path):
    store.record([Statement(PartKey(part_number="AB99"), {"height": Interval(1, 1.5)}, given())])
    store.quotes.new("a", customer="Meadow", name="Pump", quantity=None, due="", who="Ada")
    file = tmp_path / "copy.db"
    store.copy_to(file)
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith("copy")] == ["copy.db"]
    with open_store(file, create=False, read_only=True) as copy:
        assert copy.figures() == store.figures()
        assert copy.quotes.all() == []  # whose quotes there are is no matter of a worker's


def test_a_copy_that_cannot_be_written_is_told(store, tmp_path):
    with pytest.raises(InputError):
        store.copy_to(tmp_path / "missing" / "copy.db")
