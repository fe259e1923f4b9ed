"""A sign of life on standard error for work that takes longer than half a second."""

from __future__ import annotations

import sys
import threading
from types import TracebackType
from typing import TYPE_CHECKING, Final, Self, TextIO

from capcheck.values import visible

if TYPE_CHECKING:
    from rich.progress import Progress

_PATIENCE_S: Final = 0.5


class Working:
    """Shows what is being done and for how long, while a ``with`` block runs; nothing if it ends within half a second.

    Only a terminal is written to, and what was written is taken away at the end.
    """

    def __init__(self, text: str, stream: TextIO | None = None, patience_s: float = _PATIENCE_S) -> None:
        self.text = text
        self._stream = stream or sys.stderr
        self._timer = threading.Timer(patience_s, self._start)
        self._timer.daemon = True
        self._lock = threading.Lock()
        self._progress: Progress | None = None
        self._ended = False

    def step(self, text: str) -> None:
        """Say what comes next."""
        with self._lock:
            self.text = text
            if self._progress is not None:
                self._progress.update(self._progress.task_ids[0], description=visible(text))

    def __enter__(self) -> Self:
        if self._stream.isatty():
            self._timer.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._timer.cancel()
        with self._lock:
            self._ended = True
            if self._progress is not None:
                self._progress.stop()

    def _start(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        with self._lock:
            if self._ended:
                return
            console = Console(file=self._stream, highlight=False, markup=False, emoji=False)
            columns = (TextColumn("{task.description}", markup=False), BarColumn(20), TimeElapsedColumn())
            self._progress = Progress(*columns, console=console, transient=True)
            self._progress.add_task(visible(self.text), total=None)
            self._progress.start()
