"""A request to end (Ctrl-C, a closed terminal) that comes while the solver runs is obeyed once the solver has stopped.

What is raised in a callback passes through the solver, which takes it for a failure of its own and goes on: the request
would be lost. So it is noted, the solver is told to stop, and what would have been done at once is done then.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

_NAMES: Final = ("SIGINT", "SIGTERM", "SIGHUP")


@contextmanager
def requests_to_end() -> Iterator[list[int]]:
    """Yield the list of signals that came in the block; the first is handled behind it as it was before.

    Signals reach the main thread alone: in another none is held back.
    """
    came: list[int] = []
    if threading.current_thread() is not threading.main_thread():
        yield came
        return
    numbers = [getattr(signal, name) for name in _NAMES if hasattr(signal, name)]
    before = {number: handler for number in numbers if callable(handler := signal.getsignal(number))}
    for number in before:
        signal.signal(number, lambda number, _: came.append(number))
    try:
        yield came
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        if came:
            before[signal.Signals(came[0])](came[0], None)
