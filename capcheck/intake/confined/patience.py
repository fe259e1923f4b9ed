"""Reading a pipe for so long and no longer, without a thread beside it: a process that has one forks unsafely."""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Callable
from typing import IO, Final

_AT_ONCE: Final = 1 << 20


class Patient:
    """A pipe that ends where nothing more comes in time; *is_late* then says so, and *give_up* has been called."""

    def __init__(self, pipe: IO[bytes], seconds: float, give_up: Callable[[], None]) -> None:
        self._pipe, self._give_up = pipe, give_up
        self._until = time.monotonic() + seconds
        self.is_late = False

    def read(self, size: int) -> bytes:
        """Return so many bytes, fewer where the pipe ends before."""
        return self._beside_a_thread(size) if sys.platform == "win32" else self._polled(size)

    def _polled(self, size: int) -> bytes:
        import select

        number = self._pipe.fileno()
        poll = select.poll()
        poll.register(number, select.POLLIN)
        found = bytearray()
        while len(found) < size:
            if not poll.poll(max(0.0, 1000 * (self._until - time.monotonic()))):
                self._too_late()
                break
            part = os.read(number, min(size - len(found), _AT_ONCE))
            if not part:
                break
            found += part
        return bytes(found)

    def _beside_a_thread(self, size: int) -> bytes:
        """Return the same where a pipe cannot be polled, and nothing is forked."""
        watch = threading.Timer(max(0.0, self._until - time.monotonic()), self._too_late)
        watch.daemon = True
        watch.start()
        try:
            return self._pipe.read(size)
        finally:
            watch.cancel()

    def _too_late(self) -> None:
        self.is_late = True
        self._give_up()
