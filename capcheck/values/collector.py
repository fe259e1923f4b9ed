"""The garbage collector held back where very many things are made, none of them in a cycle."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """Hold the garbage collector back in the block: it would walk all that is made there again and again."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            if not gc.get_freeze_count():
                # What was made meanwhile counts as old from here on: else all of it is walked at once.
                gc.freeze()
                gc.unfreeze()
            gc.enable()
