"""The asker's side of the reading process: forked or started at the first foreign file, ended when it hangs."""

from __future__ import annotations

import atexit
import contextlib
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path
from typing import IO, Final

import msgspec
from msgspec import Struct, field

from capcheck.intake.confined.child import serve
from capcheck.intake.confined.forked import Forked, may_fork
from capcheck.intake.confined.frames import Reply, Request, decoded, encoded, read_frame, write_frame
from capcheck.intake.confined.patience import Patient

_START: Final = "import sys; sys.path[:] = {path!r}; from capcheck.intake.confined.child import serve; serve()"
_FOLDERS: Final = frozenset({"HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"})
_PATIENCE_S: Final = 10.0
"""Seconds beyond twice the processor time allowed that an answer may take: other programs may hold the processor."""
_OUT_OF_TIME: Final = frozenset({"SIGPROF", "SIGXCPU"})


class _Process(Struct, eq=False):
    """A running worker, the process that started it, and the requests that it has not answered yet."""

    handle: subprocess.Popen[bytes] | Forked
    owner: int
    waiting: list[Request] = field(default_factory=list)
    files: set[str | None] = field(default_factory=set)
    """The files that it has read."""

    @property
    def pipes(self) -> tuple[IO[bytes], IO[bytes]]:
        """The way in and the way out."""
        if self.handle.stdin is None or self.handle.stdout is None:
            raise RuntimeError("the worker was started without pipes")
        return self.handle.stdin, self.handle.stdout

    def send(self, request: Request) -> None:
        """Hand on a request; that the worker has ended shows when its answer is awaited."""
        with contextlib.suppress(OSError):
            write_frame(self.pipes[0], encoded(request))
        if request.file is not None:
            self.waiting.append(request)

    def receive(self) -> Reply:
        """Return what became of the request that has waited longest."""
        request = self.waiting.pop(0)
        seconds = request.seconds
        pipe = Patient(self.pipes[1], _PATIENCE_S + 2 * seconds, self.handle.kill)
        frame = read_frame(pipe)
        try:
            reply = None if frame is None else decoded(frame, Reply)
        except msgspec.MsgspecError:
            reply = None
        self.files.add(request.file)
        if reply is not None:
            return reply
        end = _name_of(self.end())
        if pipe.is_late or end in _OUT_OF_TIME:
            return Reply(broke=f"it takes more than {seconds:.1f} s", out_of_time=True, seconds=seconds)
        return Reply(broke=f"its reader broke off ({end})", seconds=seconds)

    def end(self) -> int:
        """End the worker and return how it ended: an exit code, or a signal's number below zero."""
        for pipe in self.pipes:
            with contextlib.suppress(OSError):
                pipe.close()
        try:
            return self.handle.wait(timeout=0.5)
        except subprocess.TimeoutExpired:
            self.handle.kill()
            return self.handle.wait()


def _name_of(code: int) -> str:
    try:
        return signal.Signals(-code).name
    except ValueError:
        return f"exit code {code}"


class Worker:
    """One reading process for all files of a run, started when it is first needed and again when one has broken off."""

    def __init__(self) -> None:
        self._lock = threading.RLock()
        self._process: _Process | None = None
        self._replies: dict[Request, Reply] = {}

    def expect(self, request: Request) -> None:
        """Let a file be read while the asker does other work; what becomes of it shows when it is asked for."""
        with self._lock:
            process = self._running()
            if request not in process.waiting and request not in self._replies:
                process.send(request)

    def ask(self, request: Request) -> Reply:
        """Return what became of a request, made now or expected before. Raises :class:`OSError`: no process starts."""
        with self._lock:
            reply, used = self._await(request)
            if reply.broke and used and not reply.out_of_time:
                # What other files left behind may have used up its memory: once more, with a fresh one.
                reply, _ = self._await(request)
            return reply

    def _await(self, request: Request) -> tuple[Reply, bool]:
        """Return what became of a request, and whether its worker had read other files before."""
        used = False
        while request not in self._replies:
            process = self._running()
            if request not in process.waiting:
                process.send(request)
            first = process.waiting[0]
            reply = self._replies[first] = process.receive()
            used = len(process.files) > 1
            if reply.broke:
                self._end()
                for other in process.waiting:
                    self._running().send(other)
        return self._replies.pop(request), used

    def _running(self) -> _Process:
        # After a fork of the asker the pipes are the first one's.
        if self._process is None or self._process.owner != os.getpid():
            self._process = _started()
            atexit.register(self._end)
        return self._process

    def _end(self) -> None:
        atexit.unregister(self._end)
        process, self._process = self._process, None
        if process is not None and process.owner == os.getpid():
            process.handle.kill()
            process.end()


def _started() -> _Process:
    """Start a worker; it imports from where this process does, but nothing from the folder that it is started in."""
    root = str(Path(__file__).resolve().parents[3])
    path = [root, *(entry for entry in sys.path if entry and Path(entry) != Path.cwd())]
    # A library keeps what it remembers in the user's folder: a relative one would lie beside this program's modules.
    unset = {name for name in _FOLDERS & os.environ.keys() if not Path(os.environ[name]).is_absolute()}
    if may_fork():
        return _Process(Forked(serve, path, unset), os.getpid())
    options = ["-I", *(["-X", f"pycache_prefix={sys.pycache_prefix}"] if sys.pycache_prefix else [])]
    handle = subprocess.Popen(  # noqa: S603 - this interpreter and this program, nothing of an input
        [sys.executable, *options, "-c", _START.format(path=path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        # One thread is enough, and each more would take address space.
        env={
            **{name: value for name, value in os.environ.items() if name not in unset},
            "OPENBLAS_NUM_THREADS": "1",
            "OMP_NUM_THREADS": "1",
        },
    )
    return _Process(handle, os.getpid())


WORKER: Final = Worker()
