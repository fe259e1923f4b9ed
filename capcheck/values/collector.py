"""The garbage collector held back where very many things are made, none of them in a cycle."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from typing import Final

_RESTS: Final = count(1)
_UP_TO: Final = 64
"""Rests after which all is looked through: what counts as old at the end of each is not, and grew with each board."""


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """Hold the garbage collector back in the block: it would walk all that is made there again and again."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            if next(_RESTS) % _UP_TO == 0:
                gc.collect()
            elif not gc.get_freeze_count():
                # What was made meanwhile counts as old from here on: else all of it is walked at once.
                gc.freeze()
                gc.unfreeze()
            gc.enable()
