"""Boards checked in several processes at once, each result handed over when its turn comes.

What is asked for is sent ahead as soon as it is known; a result is waited for where the one process would have worked.
So the order, and what is told in it, are those of one process. A process that ends in the middle of a board costs that
board one more try in a process of its own, and no other board anything. An executor of the caller's that is broken by
it does nothing any more: what it has not done is done in such processes too.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Callable, Mapping
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from multiprocessing.connection import wait
from pathlib import Path
from types import TracebackType
from typing import Final, Generic, Self, TypeVar, cast

from capcheck.intake import unpacked_elsewhere, unpacked_from
from capcheck.survey.sent_work import SentWork, one_at_a_time
from capcheck.values import InputError

Result = TypeVar("Result")
_CAN_FORK: Final = "fork" in multiprocessing.get_all_start_methods()
_WORK: dict[int, Callable[[Path], object]] = {}
"""What the processes do, by the number of its workers: they are forked with it, and nothing of it has to be sent."""


def _done(number: int, path: str, unpacked: Mapping[str, str]) -> object:
    with unpacked_elsewhere(unpacked):
        return _WORK[number](Path(path))


def _end_with_the_program() -> None:
    """Have this process end when the program that started it has: interrupted or killed, it says so to nobody."""
    started_by = multiprocessing.parent_process()
    if started_by is not None:
        threading.Thread(target=_end_after, args=(started_by.sentinel,), daemon=True).start()


def _end_after(sentinel: int) -> None:
    wait([sentinel])
    os._exit(1)


def _ready() -> None:
    """Do nothing: asked for once, so that the processes are started before the program has threads."""


class Workers(Generic[Result]):
    """Runs *work* on paths in *jobs* processes; in this one where that is 1, or where the system cannot fork.

    Another *executor* of :mod:`concurrent.futures` may take the place of the processes, if it can run *work*.
    """

    def __init__(self, work: Callable[[Path], Result], jobs: int, executor: Executor | None = None) -> None:
        self._work = work
        self._number = id(self)
        self._jobs = jobs
        self._given = executor
        self._pool: Executor | None = executor
        self._sent = None if executor is None else SentWork(work, executor)
        self._ahead: dict[str, Future[Result]] = {}

    def __enter__(self) -> Self:
        _WORK[self._number] = self._work
        if self._given is None and self._jobs > 1 and _CAN_FORK:
            self._pool = self._processes(self._jobs)
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        for future in self._ahead.values():
            future.cancel()
        if self._pool is not None and self._pool is not self._given:
            self._pool.shutdown(wait=error is None, cancel_futures=True)
        del _WORK[self._number]

    def _processes(self, jobs: int) -> ProcessPoolExecutor:
        context = multiprocessing.get_context("fork")
        pool = ProcessPoolExecutor(jobs, mp_context=context, initializer=_end_with_the_program)
        pool.submit(_ready).result()
        return pool

    @property
    def see_unpacked(self) -> bool:
        """Whether what this process has unpacked is there for the others; another machine's do not see it."""
        return self._pool is not None and self._given is None

    def send_ahead(self, path: Path) -> None:
        """Have the work on *path* begin, if there are processes for it; it will be asked for later, or not at all."""
        if self._pool is not None and str(path) not in self._ahead:
            self._ahead[str(path)] = self._submitted(self._pool, path)

    def _submitted(self, pool: Executor, path: Path) -> Future[Result]:
        try:
            if self._sent is not None and pool is self._given:
                function, arguments = self._sent()
                return cast("Future[Result]", pool.submit(function, *arguments, str(path)))
            return cast("Future[Result]", pool.submit(_done, self._number, str(path), dict(unpacked_from())))
        except BrokenExecutor as error:
            broken: Future[Result] = Future()
            broken.set_exception(error)
            return broken

    def __call__(self, path: Path) -> Result:
        """Return what the work makes of *path*, or raise what it raises.

        Raises :class:`InputError` where it ends its process.
        """
        future = self._ahead.pop(str(path), None)
        if future is None:
            return cast("Result", one_at_a_time(self._work, str(path)))
        try:
            return future.result()
        except BrokenExecutor:
            return self._alone(path)
        except Exception as error:
            if type(error).__name__ == "KilledWorker":  # of a library that is loaded only where it is used
                raise _ends_all(path) from None
            raise

    def _alone(self, path: Path) -> Result:
        """Return the result of one more try: another board may have ended the processes, or this one."""
        if self._given is not None and not _CAN_FORK:
            raise _ends_all(path, often="")
        if self._pool is not None and self._given is None:
            self._renew(self._pool)
        try:
            with self._processes(1) as pool:
                return self._submitted(pool, path).result()
        except BrokenExecutor:
            raise _ends_all(path) from None

    def _renew(self, broken: Executor) -> None:
        """Start processes anew for what was sent ahead and has no result."""
        broken.shutdown(wait=False, cancel_futures=True)
        self._pool = self._processes(self._jobs)
        for path, future in self._ahead.items():
            if not future.done() or future.cancelled() or isinstance(future.exception(), BrokenExecutor):
                self._ahead[path] = self._submitted(self._pool, Path(path))


def _ends_all(path: Path, often: str = ", twice") -> InputError:
    return InputError.at(
        str(path), f"ends the process that checks it{often}", "nothing was proved", "check it by itself"
    )
