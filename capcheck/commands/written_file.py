"""Files that a command writes: whole or not at all, and never over what was read or what is not a plain file."""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterable
from pathlib import Path

from capcheck.values import InputError

_PLAIN = "name a file, new or written before"


def refuse_output(path: Path, inputs: Iterable[str | Path] = ()) -> None:
    """Raise :class:`InputError` for a file that must not be written, or that is one of the *inputs* by another name.

    A link would lead the writing elsewhere; a device or a pipe takes no file; an input is the customer's or the shop's.
    """
    try:
        there = path.lstat()
    except FileNotFoundError:
        return
    except (OSError, ValueError) as error:
        raise _cannot(path, error) from None
    if stat.S_ISLNK(there.st_mode):
        raise InputError.at(
            str(path),
            "cannot be written: it is a link, and links are not followed",
            remedy=f"name the file itself, {_target(path)}",
        )
    if stat.S_ISDIR(there.st_mode):
        raise InputError.at(str(path), "cannot be written: it is a folder", remedy="name a file in it")
    if not stat.S_ISREG(there.st_mode):
        raise InputError.at(str(path), "cannot be written: it is a device or a pipe", remedy=_PLAIN)
    if not os.access(path, os.W_OK):
        raise InputError.at(
            str(path), "cannot be written: it is protected", remedy="name another file, or lift the protection"
        )
    for other in inputs:
        with contextlib.suppress(OSError, ValueError):
            if os.path.samestat(there, Path(other).stat()):
                raise InputError.at(
                    str(path),
                    f"cannot be written: it is an input of this run ({other})",
                    remedy="name another file",
                )


def _target(path: Path) -> str:
    try:
        return str(path.readlink())
    except OSError:
        return "where it leads"


def write_file(path: Path, content: str | bytes, inputs: Iterable[str | Path] = ()) -> None:
    """Write *content* to *path* whole or not at all; texts as UTF-8. Raises :class:`InputError`.

    It is written beside and renamed; a file that was there keeps its mode and owner.
    """
    refuse_output(path, inputs)
    data = content.encode(errors="backslashreplace") if isinstance(content, str) else content
    temporary = path.parent / f".capcheck-{os.urandom(8).hex()}.tmp"
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    try:
        with os.fdopen(os.open(temporary, flags, 0o666), "wb") as file:
            _take_after(path, file.fileno())
            file.write(data)
        temporary.replace(path)
    except OSError as error:
        raise _cannot(path, error) from None
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()


def _take_after(path: Path, descriptor: int) -> None:
    """Give a new file the owner and the mode of the one that it replaces, where there is one."""
    try:
        there = path.lstat()
    except FileNotFoundError:
        return
    made = os.fstat(descriptor)
    if hasattr(os, "fchown") and (there.st_uid, there.st_gid) != (made.st_uid, made.st_gid):
        os.fchown(descriptor, there.st_uid, there.st_gid)
    if hasattr(os, "fchmod"):
        os.fchmod(descriptor, stat.S_IMODE(there.st_mode))


def _cannot(path: Path, error: Exception) -> InputError:
    reason = (error.strerror if isinstance(error, OSError) else "") or str(error)
    return InputError.at(str(path), f"cannot be written: {reason}", remedy="name a file in a folder that is there")
