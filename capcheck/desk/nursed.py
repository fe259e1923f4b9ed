"""The process that workers are forked from, as the server sees it: orders go in, how each worker ended comes out."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import sys

import msgspec

from capcheck.desk.workers import NURSERY, Order, Told

KILLED = -int(signal.SIGKILL)


class Nursed:
    """One such process, from :meth:`begun` until it ends, its workers with it."""

    def __init__(self, process: asyncio.subprocess.Process) -> None:
        self._process = process
        self._ends: dict[int, asyncio.Future[int]] = {}
        self._is_over = False
        self.pids: dict[int, int] = {}
        """The process of each piece of work."""
        self._hearing = asyncio.create_task(self._hear())

    @classmethod
    async def begun(cls, *, cold: bool) -> Nursed:
        """Return a new one; a *cold* one is there sooner, and has every check take longer."""
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-P",
            "-m",
            NURSERY,
            *(["--cold"] if cold else []),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            env={**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"},
        )
        return cls(process)

    @property
    def is_over(self) -> bool:
        """Whether it has ended, and takes no order."""
        return self._is_over or self._process.returncode is not None

    async def ended(self, order: Order, wall_s: float) -> int:
        """Have an order worked on; return how its process ended, by a signal where its time was over."""
        end: asyncio.Future[int] = asyncio.get_running_loop().create_future()
        self._ends[order.work] = end
        try:
            async with asyncio.timeout(wall_s):
                await self._give(order)
                return await end
        except (TimeoutError, BrokenPipeError, ConnectionResetError):
            return KILLED
        finally:
            self._ends.pop(order.work, None)
            self._kill(self.pids.pop(order.work, None))

    async def _give(self, order: Order) -> None:
        if self.is_over:
            raise BrokenPipeError
        assert self._process.stdin is not None  # noqa: S101 - for the type checker: it was started with a pipe
        self._process.stdin.write(msgspec.json.encode(order) + b"\n")
        await self._process.stdin.drain()

    def _kill(self, pid: int | None) -> None:
        """End the process of a piece of work, and those that read for it, where they have not ended."""
        if pid is not None:
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(pid, signal.SIGKILL)

    def kill(self) -> None:
        """End it at once."""
        with contextlib.suppress(ProcessLookupError):
            self._process.kill()

    async def over(self) -> None:
        """Wait until it has ended, and all that was waited for has been told."""
        await self._hearing

    async def _hear(self) -> None:
        """Hear what begins and ends, until it ends itself and all its workers with it."""
        assert self._process.stdout is not None  # noqa: S101 - as above
        try:
            await self._process.stdout.readline()  # it has begun
            async for line in self._process.stdout:
                told = msgspec.json.decode(line, type=Told)
                if told.code is None:
                    self.pids[told.work] = told.pid
                    if told.work not in self._ends:  # its time was over before it had begun
                        self._kill(self.pids.pop(told.work))
                    continue
                self.pids.pop(told.work, None)
                self._tell(told.work, told.code)
            await self._process.wait()
        finally:
            self._is_over = True
            for work in tuple(self._ends):
                self._tell(work, KILLED)

    def _tell(self, work: int, code: int) -> None:
        end = self._ends.get(work)
        if end is not None and not end.done():
            end.set_result(code)
