"""Folders of this run alone, below the one for temporary files; those of runs that were killed are taken away.

A run holds a lock in each of its folders for as long as it lives. A folder of the same user whose lock is free belongs
to nobody: its run was ended before it could tidy up. Where the platform has no such locks nothing is taken away.
"""

from __future__ import annotations

import os
import stat
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Final

_PREFIX: Final = "capcheck-"
_LOCK: Final = ".in-use"
_MOST: Final = 200
"""So many folders are looked at, whatever else lies there."""

_HELD: Final[dict[str, int]] = {}
"""The open lock of each folder."""


def new_folder() -> Path:
    """Return a new folder of this run's own, with those of runs that were killed taken away before."""
    _remove_left_over()
    folder = Path(tempfile.mkdtemp(prefix=_PREFIX))
    with suppress(ImportError, OSError):
        import fcntl

        # It bears its name only once it is locked: no other run finds it free.
        made = folder / f"{_LOCK}-new"
        held = os.open(made, os.O_CREAT | os.O_RDWR | os.O_EXCL, 0o600)
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        made.rename(folder / _LOCK)
        _HELD[str(folder)] = held
    return folder


def remove_folder(folder: str) -> None:
    """Remove a folder of this run, or one in it, with all that it holds."""
    import shutil

    shutil.rmtree(folder, ignore_errors=True)
    held = _HELD.pop(folder, None)
    if held is not None:
        os.close(held)


def _remove_left_over() -> None:
    with suppress(ImportError, OSError):
        import fcntl

        beside = sorted(Path(tempfile.gettempdir()).glob(f"{_PREFIX}*/{_LOCK}"))[:_MOST]
        for lock in beside:
            if str(lock.parent) in _HELD or not _is_own(lock.parent):
                continue
            with suppress(OSError):
                held = os.open(lock, os.O_RDWR | os.O_NOFOLLOW)
                try:
                    fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
                    remove_folder(str(lock.parent))
                finally:
                    os.close(held)


def _is_own(folder: Path) -> bool:
    """Whether a folder is the user's alone, and no link: others may put one there."""
    about = folder.lstat()
    return stat.S_ISDIR(about.st_mode) and about.st_uid == os.getuid() and not about.st_mode & 0o077
