"""The server's side of the workers: work is claimed from the store, given out, watched, and what came of it written.

So many run at once, the rest waits in the store. A worker that ends in the middle is tried once more; one that does so
twice is told. A server that is killed holds its work for seconds, after which any server of the desk takes it up.
"""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import secrets
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final, ParamSpec, TypeVar

import msgspec

from capcheck.desk.nursed import Nursed
from capcheck.desk.workers import RESULT, Order, Result, Summary, read_form
from capcheck.intake import plain
from capcheck.values import InputError, unforeseen

if TYPE_CHECKING:
    from capcheck.desk.shop_at_desk import Desk
    from capcheck.store import Quote, Work

_P = ParamSpec("_P")
_R = TypeVar("_R")

HELD_S: Final = 15.0
WALL_S: Final = 420.0
"""Seconds that a worker may take, whatever it does."""
AT_ONCE_S: Final = 120.0
"""Seconds that a worker may take for which somebody waits."""
_TRIES: Final = 2
_BOARD_DEPTH: Final = 2
"""Folders deep in a worker's own lies a board: one for all of it, in which one bears its name."""
_LEAST_FREE: Final = 32 * 1024 * 1024
"""Bytes of the disk that are left for anything to come of a check."""
_FULL: Final = "the disk is full: {folder} has no room for a check; nothing is lost, and it goes on once there is room"
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
        self._nursery: Nursed | None = None
        self._beginning = asyncio.Lock()
        self._waited_for = asyncio.Semaphore(jobs)
        self._poked = asyncio.Event()
        self._doing: dict[int, asyncio.Task[None]] = {}
        self._elsewhere: set[int] = set()
        """Work whose files lie with another desk of the same store."""
        self._troubles = {"store": "", "work": ""}
        self._tasks: list[asyncio.Task[None]] = []
        self._beside = itertools.count(-1, -1)
        """Numbers of orders that are no rows of the store."""

    @property
    def trouble(self) -> str:
        """What keeps the desk from working, for its pages, until it works again."""
        return self._troubles["store"] or self._troubles["work"]

    @property
    def pids(self) -> dict[int, int]:
        """The process of each piece of work."""
        return {} if self._nursery is None else self._nursery.pids

    def poke(self) -> None:
        """Say that there may be work."""
        self._poked.set()

    async def start(self) -> None:
        """Begin."""
        await self._running()
        self._tasks += [asyncio.create_task(step()) for step in (self._run, self._keep_hold)]

    async def at_once(self, order: Order) -> Result | None:
        """Have an order done beside those that wait, as somebody waits for it; None where its worker was ended."""
        into = Path(order.into)
        order = msgspec.structs.replace(order, work=next(self._beside))
        try:
            async with self._waited_for:
                code = await self._ended(order, AT_ONCE_S)
        finally:
            await asyncio.to_thread(shutil.rmtree, into / "scratch", ignore_errors=True)
        return read_form(into / RESULT, Result) if code == 0 else None

    async def stop(self) -> None:
        """End, and let go of what is not done."""
        for task in (*self._tasks, *self._doing.values()):
            task.cancel()
        await asyncio.gather(*self._tasks, *self._doing.values(), return_exceptions=True)
        if self._nursery is not None:
            self._nursery.kill()
            await self._nursery.over()
        with contextlib.suppress(InputError):
            self._desk.quotes.let_go(self._holder)

    async def _run(self) -> None:
        while True:
            self._poked.clear()
            while len(self._doing) < self._jobs:
                work = await self._told(self._desk.quotes.claim, self._holder, HELD_S, tuple(self._elsewhere))
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
            found = await asyncio.to_thread(ask, *args, **kwargs)
        except InputError as error:
            self._tell("store", str(error))
            return None
        self._tell("store", "")
        return found

    def _tell(self, of: str, trouble: str) -> None:
        """Say once what keeps the desk from working; nothing where it works again."""
        if trouble and trouble != self._troubles[of]:
            sys.stderr.write(f"{trouble}\n")
        self._troubles[of] = trouble

    async def _do(self, work: Work) -> None:
        try:
            quote = await self._told(self._desk.quotes.one, work.quote)
            if quote is not None and not self._desk.of_quote(quote.folder).is_dir():
                self._elsewhere.add(work.id)
                await self._told(self._desk.quotes.put_off, work.id, 0.0)
            elif quote is not None:
                await self._worked(work, quote)
        except (InputError, OSError) as error:
            # The store or the disk: what came is kept, and tried again when they may work.
            await self._put_off(work, str(error))
        except Exception as error:  # noqa: BLE001 - work that ends a server's task is told, not tried for ever
            told = str(InputError(unforeseen(error, "the desk")))
            await self._told(self._desk.quotes.end, work.id, "failed", told=told)
        finally:
            self._doing.pop(work.id, None)
            self.poke()

    async def _put_off(self, work: Work, trouble: str) -> None:
        self._tell("work", trouble)
        await self._told(self._desk.quotes.put_off, work.id, HELD_S)

    async def _worked(self, work: Work, quote: Quote) -> None:
        into = self._desk.of_work(quote, work.id)
        order = await asyncio.to_thread(self._ready, work, quote, into)
        code = await self._ended(order)
        result = await asyncio.to_thread(self._result, into) if code == 0 else None
        if result is None or result.outcome != "done":
            free = shutil.disk_usage(self._desk.folder).free
            if free < _LEAST_FREE:
                await self._put_off(work, _FULL.format(folder=self._desk.folder))
                return
        self._tell("work", "")
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

    @staticmethod
    def _result(into: Path) -> Result | None:
        """Return what a worker wrote, its scratch taken away; None where it names a folder that is none of its own."""
        shutil.rmtree(into / "scratch", ignore_errors=True)
        result = read_form(into / RESULT, Result)
        for board in () if result is None else result.boards:
            parts = board.folder.split("/")
            if len(parts) != _BOARD_DEPTH or any(part != plain(part) for part in parts):
                return None
        return result

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

    async def _ended(self, order: Order, wall_s: float | None = None) -> int:
        """Have an order worked on; return how its process ended, by a signal where its time was over."""
        nursery = await self._running()
        return await nursery.ended(order, wall_s or self._wall_s)

    async def _running(self) -> Nursed:
        """Return the process that workers are forked from, started anew where it has ended."""
        async with self._beginning:
            if self._nursery is None or self._nursery.is_over:
                self._nursery = await Nursed.begun(cold=self._cold)
            return self._nursery
