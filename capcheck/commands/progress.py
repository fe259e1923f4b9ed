"""A sign of life on standard error for work that takes longer than half a second."""

from __future__ import annotations

import math
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import TracebackType
from typing import TYPE_CHECKING, Final, Self, TextIO, TypeVar

from capcheck.values import Phase, cut, visible

if TYPE_CHECKING:
    import argparse

    from rich.progress import Progress

_PATIENCE_S: Final = 0.5
Said = TypeVar("Said")


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
        self._done = 0
        self._known: int | None = None

    def step(self, text: str) -> None:
        """Say what comes next."""
        with self._lock:
            self.text = text
            if self._progress is not None:
                self._progress.update(self._progress.task_ids[0], description=visible(text))

    def count(self, done: int, known: int | None, text: str) -> None:
        """Say how much is done of what is known so far."""
        with self._lock:
            self.text, self._done, self._known = text, done, known
            if self._progress is not None:
                task = self._progress.task_ids[0]
                self._progress.update(task, description=visible(text), completed=done, total=known)

    def phase(self, phase: Phase, done: int, of: int) -> None:
        """Say which phase the work on a board is at."""
        counts = f" {done} of {of}" if done else f": {of:,}" if of else ""
        self.count(done, of or None, f"{phase}{counts}")

    @contextmanager
    def silent(self) -> Iterator[None]:
        """Take away what is shown while the block writes to the screen."""
        with self._lock:
            if self._progress is not None:
                self._progress.stop()
            try:
                yield
            finally:
                if self._progress is not None and not self._ended:
                    self._progress.start()

    def told(self, tell: Callable[[Said], None]) -> Callable[[Said], None]:
        """Return *tell* as it may be called while something is shown."""

        def aside(what: Said) -> None:
            with self.silent():
                tell(what)

        return aside

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
        from rich.progress import (
            BarColumn,
            Progress,
            ProgressColumn,
            Task,
            TextColumn,
            TimeElapsedColumn,
            TimeRemainingColumn,
        )
        from rich.text import Text

        class Rate(ProgressColumn):
            """How fast it goes, and how long it will take; nothing where nobody knows how much there is."""

            _left = TimeRemainingColumn(compact=True)

            def render(self, task: Task) -> Text:
                if task.total is None:
                    return Text("")
                rate = f"{task.speed:.1f} a second, " if task.speed else ""
                return Text(f"{rate}left ") + self._left.render(task)

        with self._lock:
            if self._ended:
                return
            console = Console(file=self._stream, highlight=False, markup=False, emoji=False)
            columns = (TextColumn("{task.description}", markup=False), BarColumn(20), TimeElapsedColumn(), Rate())
            self._progress = Progress(*columns, console=console, transient=True)
            self._progress.add_task(visible(self.text), total=self._known, completed=self._done)
            self._progress.start()


class Boards(Working):
    """Shows how many of the folders and archives of a run are done: the *watch* of a search for boards."""

    def __init__(self, doing: str, stream: TextIO | None = None, patience_s: float = _PATIENCE_S) -> None:
        super().__init__(f"{doing} boards", stream, patience_s)
        self._doing = doing

    def __call__(self, done: int, known: int, name: str) -> None:
        """Take note that so many of those known are done, the last of that name."""
        self.count(done, known, f"{self._doing} boards: {done} of {known} folders and archives, last {cut(name, 40)}")


class Searching:
    """Tells on standard error how a search goes: in place on a terminal, line by line where ``--progress`` asks."""

    def __init__(self, arguments: argparse.Namespace) -> None:
        self._lines = bool(arguments.progress)
        self._last = -math.inf
        self._shown: Working | None = None

    def __enter__(self) -> Self:
        if not self._lines:
            self._shown = Working("planning")
            self._shown.__enter__()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        if self._shown is not None:
            self._shown.__exit__(kind, error, at)

    def tell(self, seconds: float, best: float, bound: float) -> None:
        """Tell the best plan so far and the proven bound, at most once a second."""
        found = f"best {best:.2f} s" if math.isfinite(best) else "no plan yet"
        self._say(f"search, {seconds:.1f} s: {found}, proven bound {max(bound, 0.0):.2f} s")

    def tell_lines(self, planned: int, waiting: int) -> None:
        """Tell how many lines were planned."""
        self._say(f"lines planned: {planned}, waiting: {waiting}")

    def tell_at_once(self, text: str) -> None:
        """Tell a result that was found; on a terminal it stays."""
        if self._shown is not None and not sys.stderr.isatty():
            return
        tell: Callable[[str], None] = _write if self._shown is None else self._shown.told(_write)
        tell(visible(text))

    def _say(self, text: str) -> None:
        if self._shown is not None:
            self._shown.step(text)
            return
        if time.monotonic() - self._last >= 1.0:
            self._last = time.monotonic()
            _write(text)


def _write(text: str) -> None:
    sys.stderr.write(f"{text}\n")
    sys.stderr.flush()
