"""The server's side of the workers: work is claimed from the store, given out, watched, and what came of it written.

So many run at once, the rest waits in the store. A worker that ends in the middle is tried once more; one that does so
twice is told. A server that is killed holds its work for seconds, after which any server of the desk takes it up.
"""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import os
import secrets
import shutil
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final, ParamSpec, TypeVar

import msgspec

from capcheck.desk.workers import NURSERY, RESULT, Order, Result, Summary, Told, read_form, told_of
from capcheck.values import InputError, unforeseen

if TYPE_CHECKING:
    from capcheck.desk.shop_at_desk import Desk
    from capcheck.store import Quote, Work

_P = ParamSpec("_P")
_R = TypeVar("_R")

HELD_S: Final = 15.0
WALL_S: Final = 420.0
"""Seconds that a worker may take, whatever it does."""
_TRIES: Final = 2
_LOOKS_S: Final = 2.0
"""Seconds after which the store is asked for work that another server of the desk left."""
_ENDED: Final = (
    "the check was ended {tries} times, at its limit of time or memory: the files ask for more than a board does; "
    "leave out what is not this board's, or check it by the command line: capcheck check"
)


class Crew:
    """Does the work of a desk with at most *jobs* workers at once, until :meth:`stop`.

    A worker takes *wall_s* seconds at most. A *cold* crew is there sooner, and has every check take longer.
    """

    def __init__(self, desk: Desk, jobs: int, *, wall_s: float = WALL_S, cold: bool = False) -> None:
        self._desk = desk
        self._jobs = jobs
        self._wall_s = wall_s
        self._cold = cold
        self._holder = secrets.token_hex(8)
        self._nursery: asyncio.subprocess.Process | None = None
        self._poked = asyncio.Event()
        self._doing: dict[int, asyncio.Task[None]] = {}
        self._ends: dict[int, asyncio.Future[int]] = {}
        self.pids: dict[int, int] = {}
        """The process of each piece of work."""
        self._tasks: list[asyncio.Task[None]] = []
        self._beside = itertools.count(-1, -1)
        """Numbers of orders that are no rows of the store."""

    def poke(self) -> None:
        """Say that there may be work."""
        self._poked.set()

    async def start(self) -> None:
        """Begin."""
        self.loop = asyncio.get_running_loop()
        await self._running()
        self._tasks += [asyncio.create_task(step()) for step in (self._run, self._keep_hold)]

    async def at_once(self, order: Order) -> Result | None:
        """Have an order done beside those that wait, as somebody waits for it; None where its worker was ended."""
        into = Path(order.into)
        order = msgspec.structs.replace(order, work=next(self._beside))
        try:
            code = await self._ended(order)
        finally:
            self.pids.pop(order.work, None)
            self._ends.pop(order.work, None)
            await asyncio.to_thread(shutil.rmtree, into / "scratch", ignore_errors=True)
        return read_form(into / RESULT, Result) if code == 0 else None

    async def stop(self) -> None:
        """End, and let go of what is not done."""
        for task in (*self._tasks, *self._doing.values()):
            task.cancel()
        await asyncio.gather(*self._tasks, *self._doing.values(), return_exceptions=True)
        if self._nursery is not None:
            with contextlib.suppress(ProcessLookupError):
                self._nursery.kill()
            await self._nursery.wait()
        with contextlib.suppress(InputError):
            self._desk.quotes.let_go(self._holder)

    async def _run(self) -> None:
        while True:
            self._poked.clear()
            while len(self._doing) < self._jobs:
                work = await self._told(self._desk.quotes.claim, self._holder, HELD_S)
                if work is None:
                    break
                self._doing[work.id] = asyncio.create_task(self._do(work))
            # Not wait_for: that takes no cancelling in the moment in which what it waits for has come.
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(_LOOKS_S):
                    await self._poked.wait()

    async def _keep_hold(self) -> None:
        while True:
            await asyncio.sleep(HELD_S / 3)
            if self._doing:
                await self._told(self._desk.quotes.hold, list(self._doing), self._holder, HELD_S)

    async def _told(self, ask: Callable[_P, _R], *args: _P.args, **kwargs: _P.kwargs) -> _R | None:
        """Ask the store in a thread; where it fails that is told, and asked again later."""
        try:
            return await asyncio.to_thread(ask, *args, **kwargs)
        except InputError as error:
            sys.stderr.write(f"{error}\n")
            return None

    async def _do(self, work: Work) -> None:
        try:
            quote = await self._told(self._desk.quotes.one, work.quote)
            if quote is not None:
                await self._worked(work, quote)
        except (InputError, OSError) as error:
            problem = error if isinstance(error, InputError) else InputError(unforeseen(error, "the desk's folder"))
            await self._told(self._desk.quotes.end, work.id, "failed", told="\n".join(told_of(problem)))
        finally:
            self._doing.pop(work.id, None)
            self.pids.pop(work.id, None)
            self._ends.pop(work.id, None)
            self.poke()

    async def _worked(self, work: Work, quote: Quote) -> None:
        into = self._desk.of_work(quote, work.id)
        order = await asyncio.to_thread(self._ready, work, quote, into)
        code = await self._ended(order)
        result = read_form(into / RESULT, Result) if code == 0 else None
        shutil.rmtree(into / "scratch", ignore_errors=True)
        if result is None:
            if work.tries < _TRIES:
                await self._told(self._desk.quotes.again, work.id)
            else:
                await self._told(self._desk.quotes.end, work.id, "failed", told=_ENDED.format(tries=work.tries))
        elif work.kind == "sort":
            await asyncio.to_thread(self._take_boards, work, quote, result, into)
        else:
            summary = msgspec.json.encode(Summary(result.questions, result.lines)).decode()
            told = "\n".join(result.told)
            await self._told(self._desk.quotes.end, work.id, result.outcome, told=told, result=summary)

    def _ready(self, work: Work, quote: Quote, into: Path) -> Order:
        """Make the folder of a worker anew, and what it is told."""
        shutil.rmtree(into, ignore_errors=True)
        into.mkdir(parents=True)
        return self._desk.order_of(work, quote)

    def _take_boards(self, work: Work, quote: Quote, result: Result, into: Path) -> None:
        """Move the boards that were told apart to where they stay, and write them down."""
        told = "\n".join(result.told)
        if result.outcome != "done":
            self._desk.quotes.end(work.id, result.outcome, told=told)
            return
        boards = self._desk.of_quote(quote.folder) / "boards"
        rows = []
        for board in result.boards:
            kept = f"{work.id}-{board.folder}"
            target = boards / kept
            shutil.rmtree(target.parent, ignore_errors=True)
            target.parent.mkdir(parents=True)
            (into / board.folder).rename(target)
            rows.append((board.name, kept, [(file.shown, file.path, file.size) for file in board.files]))
        self._desk.quotes.add_boards(work, rows, told)

    async def _ended(self, order: Order) -> int:
        """Have an order worked on; return how its process ended, by a signal where its time was over."""
        nursery = await self._running()
        loop = asyncio.get_running_loop()
        end: asyncio.Future[int] = loop.create_future()
        self._ends[order.work] = end
        assert nursery.stdin is not None  # noqa: S101 - for the type checker: it was started with a pipe
        nursery.stdin.write(msgspec.json.encode(order) + b"\n")
        await nursery.stdin.drain()
        try:
            async with asyncio.timeout(self._wall_s):
                return await end
        except TimeoutError:
            return -int(signal.SIGKILL)
        finally:
            self._kill(order.work)

    def _kill(self, work: int) -> None:
        """End the process of a piece of work, and those that read for it, where they have not ended."""
        pid = self.pids.get(work)
        if pid is not None:
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(pid, signal.SIGKILL)

    async def _running(self) -> asyncio.subprocess.Process:
        """Return the process that workers are forked from, started anew where it has ended."""
        if self._nursery is None or self._nursery.returncode is not None:
            self._nursery = await asyncio.create_subprocess_exec(
                sys.executable,
                "-P",
                "-m",
                NURSERY,
                *(["--cold"] if self._cold else []),
                stdin=asyncio.subprocess.PIPE,
                stdout=asyncio.subprocess.PIPE,
                env={**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"},
            )
            self._tasks.append(asyncio.create_task(self._hear(self._nursery)))
        return self._nursery

    async def _hear(self, nursery: asyncio.subprocess.Process) -> None:
        """Hear what begins and ends in a nursery, until it ends itself and all its workers with it."""
        assert nursery.stdout is not None  # noqa: S101 - for the type checker: it was started with a pipe
        await nursery.stdout.readline()  # it has begun
        async for line in nursery.stdout:
            told = msgspec.json.decode(line, type=Told)
            if told.code is None:
                self.pids[told.work] = told.pid
                continue
            self.pids.pop(told.work, None)
            end = self._ends.get(told.work)
            if end is not None and not end.done():
                end.set_result(told.code)
        await nursery.wait()
        for end in self._ends.values():
            if not end.done():
                end.set_result(-int(signal.SIGKILL))
