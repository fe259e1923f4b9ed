"""What is in a cycle goes in the end, however often the collector rests."""

import gc
import weakref

from capcheck.values import collector_at_rest


class _Cycle:
    def __init__(self):
        self.own = self


def test_cycles_that_outlast_a_rest_are_collected_after_some_more():
    cycle = _Cycle()
    seen = weakref.ref(cycle)
    with collector_at_rest():
        pass
    del cycle
    for _ in range(64):
        with collector_at_rest():
            assert not gc.isenabled()
    assert seen() is None
    assert gc.isenabled()
