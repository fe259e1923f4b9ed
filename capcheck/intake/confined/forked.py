"""A reading process that is a fork of the asker: what the asker has loaded need not be loaded again.

Loading takes a new process longer than reading the layers of a small board. A fork of one thread is safe where no
other thread can hold a lock; else, and where the platform has no safe fork, a new process is started.
"""

from __future__ import annotations

import contextlib
import gc
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable, Sequence
from typing import IO, Final, NoReturn

_POLL_S: Final = 0.005
_MOST_FILES: Final = 65_536
"""Open files that are looked for to be closed: a system may allow a billion."""


def may_fork() -> bool:
    """Whether a fork of this process can read: on Linux, from its only thread."""
    return (
        sys.platform == "linux"
        and threading.active_count() == 1
        and threading.current_thread() is threading.main_thread()
    )


class Forked:
    """A forked process with pipes, as :class:`subprocess.Popen` shows one: it runs *serve*, and nothing after it.

    It imports from *path* alone, does not know the variables *unset*, and has none of the asker's open files.
    """

    def __init__(self, serve: Callable[[], None], path: Sequence[str], unset: Iterable[str]) -> None:
        requests, self_in = os.pipe()
        self_out, answers = os.pipe()
        self.pid = os.fork()
        if not self.pid:
            _serve(serve, requests, answers, path, unset)
        os.close(requests)
        os.close(answers)
        self.stdin: IO[bytes] | None = os.fdopen(self_in, "wb")
        self.stdout: IO[bytes] | None = os.fdopen(self_out, "rb")
        self._code: int | None = None

    def kill(self) -> None:
        """End the process at once, where it has not ended."""
        if self._code is None:
            with contextlib.suppress(ProcessLookupError):
                os.kill(self.pid, signal.SIGKILL)

    def wait(self, timeout: float | None = None) -> int:
        """Return how it ended: an exit code, or a signal's number below zero.

        Raises :class:`subprocess.TimeoutExpired` after *timeout* seconds.
        """
        last = None if timeout is None else time.monotonic() + timeout
        while self._code is None:
            ended, status = os.waitpid(self.pid, 0 if last is None else os.WNOHANG)
            if ended:
                self._code = os.waitstatus_to_exitcode(status)
            elif last is not None and time.monotonic() > last:
                raise subprocess.TimeoutExpired("the reading process", timeout or 0.0)
            else:
                time.sleep(_POLL_S)
        return self._code


def _serve(
    serve: Callable[[], None], requests: int, answers: int, path: Sequence[str], unset: Iterable[str]
) -> NoReturn:
    """Run *serve* in the fork with its pipes as standard streams; nothing is done that the asker does at its end."""
    import fcntl

    code = 1
    try:
        # What the asker left lying is not walked, and so not copied; nor are its files closed by being forgotten.
        gc.freeze()
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGPROF):
            signal.signal(number, signal.SIG_DFL)
        signal.pthread_sigmask(signal.SIG_SETMASK, ())
        _kept = (sys.stdin, sys.stdout, sys.stderr)
        nothing = os.open(os.devnull, os.O_RDWR)
        # Above the standard streams, which one of the pipes may be where the asker had none.
        requests, answers = (fcntl.fcntl(pipe, fcntl.F_DUPFD, 3) for pipe in (requests, answers))
        os.dup2(requests, 0)
        os.dup2(answers, 1)
        os.dup2(nothing, 2)
        os.closerange(3, min(os.sysconf("SC_OPEN_MAX"), _MOST_FILES))
        sys.stdin, sys.stdout, sys.stderr = os.fdopen(0), os.fdopen(1, "w"), os.fdopen(2, "w")
        sys.path[:] = path
        for name in unset:
            os.environ.pop(name, None)
        serve()
        code = 0
    finally:
        os._exit(code)
