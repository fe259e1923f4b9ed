"""Limits of the process that reads foreign files, where the platform has them: memory, processor time, output."""

from __future__ import annotations

import contextlib
import math
import os
import signal
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Final

MOST_MEMORY: Final = 320 * 1024 * 1024
"""Bytes of address space that reading may take beyond the libraries: a sheet of 100,000 rows takes about 100 MB."""
_MOST_WRITTEN: Final = 1024 * 1024
"""Readers write no files; what a library prints goes nowhere, but is counted on some systems."""
_LEAST: Final = 0.01
_GRACE_S: Final = 2


if sys.platform == "win32":  # the asker's patience is the only limit there

    @contextlib.contextmanager
    def limited(
        seconds: float,  # noqa: ARG001 - the same call on every platform
        memory: int = MOST_MEMORY,  # noqa: ARG001
        written: int = _MOST_WRITTEN,  # noqa: ARG001
    ) -> Iterator[None]:
        """Hold no limit: the platform has none."""
        yield

else:
    import resource

    @contextlib.contextmanager
    def limited(seconds: float, memory: int = MOST_MEMORY, written: int = _MOST_WRITTEN) -> Iterator[None]:
        """Limit address space, processor time and the size of files written while the body runs.

        *memory* is in bytes beyond what is in use, *written* in bytes a file.

        Past its time the process ends by ``SIGPROF``, or by ``SIGXCPU`` if that should fail; past its memory an
        allocation fails.
        """
        used = sum(resource.getrusage(resource.RUSAGE_SELF)[:2])
        wanted = {
            resource.RLIMIT_AS: _address_space() + memory,
            resource.RLIMIT_CPU: math.ceil(used + seconds) + _GRACE_S,
            resource.RLIMIT_FSIZE: written,
            resource.RLIMIT_CORE: 0,
        }
        before = {kind: resource.getrlimit(kind) for kind in wanted}
        for kind, most in wanted.items():
            _set(kind, most)
        signal.setitimer(signal.ITIMER_PROF, max(seconds, _LEAST))
        try:
            yield
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0.0)
            for kind, (soft, _) in before.items():
                _set(kind, soft)

    def _set(kind: int, soft: int) -> None:
        """Set a soft limit, at most the hard one that whoever started the process has set."""
        hard = resource.getrlimit(kind)[1]
        if hard != resource.RLIM_INFINITY:
            soft = hard if soft == resource.RLIM_INFINITY else min(soft, hard)
        # A platform may know a limit and refuse to set it.
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(kind, (soft, hard))

    def _address_space() -> int:
        """Return the bytes of address space in use; half a gigabyte where the platform does not tell."""
        try:
            pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
        except (OSError, ValueError):
            return MOST_MEMORY
        return pages * os.sysconf("SC_PAGE_SIZE")
