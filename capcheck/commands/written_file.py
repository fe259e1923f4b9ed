"""Files that a command writes: whole or not at all, and never over what was read or what is not a plain file."""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterable, Iterator
from pathlib import Path

from capcheck.values import InputError

_OWN = frozenset({".toml", ".py"})
_OF_THE_SYSTEM = ("/dev", "/proc", "/sys")
_SHARED_MEMORY = "/dev/shm"  # noqa: S108 - nothing is made there, it is told from devices
_PLAIN = "name a file, new or written before"


def refuse_output(path: Path, inputs: Iterable[str | Path] = ()) -> None:
    """Raise :class:`InputError` for a file that must not be written, or that is one of the *inputs* by another name.

    A link would lead the writing elsewhere; a device or a pipe takes no file; an input is the customer's or the
    shop's. Of an input that is a folder, its TOML and Python files are meant. A folder on the way may be a link where
    it stands above the working directory and the inputs, as the user made it; below them a customer's package may have
    brought it.
    """
    named = [Path(other) for other in inputs]
    _refuse_linked_folder(path, [Path(), *named])
    try:
        there = path.lstat()
    except FileNotFoundError:
        if _is_of_the_system(path):
            raise InputError.at(
                str(path), "cannot be written: devices stand in this folder, and no files", remedy=_PLAIN
            ) from None
        _expect_folder(path.parent)
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
    for other in _each_file(named):
        with contextlib.suppress(OSError, ValueError):
            if os.path.samestat(there, other.stat()):
                raise InputError.at(
                    str(path),
                    f"cannot be written: it is an input of this run ({other})",
                    remedy="name another file",
                )


def _is_of_the_system(path: Path) -> bool:
    """Whether a file would stand among devices or processes; shared memory is a place for files."""
    folder = Path(os.path.realpath(path.parent))
    return any(folder.is_relative_to(root) for root in _OF_THE_SYSTEM) and not folder.is_relative_to(_SHARED_MEMORY)


def _expect_folder(folder: Path) -> None:
    """Raise :class:`InputError` where nothing can be written: said before the first of several files is."""
    if not folder.is_dir():
        raise InputError.at(str(folder), "cannot be written to: there is no such folder", remedy="make it first")
    if not os.access(folder, os.W_OK):
        raise InputError.at(str(folder), "cannot be written to: it is protected", remedy="name another folder")


def make_folder(folder: Path, inputs: Iterable[str | Path] = ()) -> None:
    """Make a folder for files, where it is not there yet. Raises :class:`InputError`."""
    _refuse_linked_folder(folder / "any", [Path(), *map(Path, inputs)])
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise _cannot(folder, error) from None


def identity(path: Path) -> object:
    """Return what is the same for two spellings of one file: links on the way, case where a file system ignores it."""
    with contextlib.suppress(OSError, ValueError):
        there = path.stat()
        return there.st_dev, there.st_ino
    return os.path.realpath(path.parent).casefold(), path.name.casefold()


def _each_file(named: Iterable[Path]) -> Iterator[Path]:
    for path in named:
        yield path
        with contextlib.suppress(OSError, ValueError):
            if path.is_dir():
                yield from (file for file in path.iterdir() if file.suffix.lower() in _OWN)


def _refuse_linked_folder(path: Path, roots: Iterable[Path]) -> None:
    """Raise :class:`InputError` where a folder of *path* is a link that stands below one of *roots* and leaves it."""
    with contextlib.suppress(OSError, ValueError):
        whole = Path(os.path.normpath(path.absolute()))
        for root in {Path(os.path.normpath(root.absolute())) for root in roots}:
            if not whole.is_relative_to(root) or not root.is_dir():
                continue
            inside = Path(os.path.realpath(root))
            for folder in whole.parents[: len(whole.parts) - len(root.parts) - 1]:
                if folder.is_symlink() and not Path(os.path.realpath(folder)).is_relative_to(inside):
                    raise InputError.at(
                        str(path),
                        f"cannot be written: the folder {folder.name} is a link that leads elsewhere",
                        remedy=f"name the folder itself, {os.path.realpath(folder)}",
                    )


def _target(path: Path) -> str:
    try:
        return str(path.readlink())
    except OSError:
        return "where it leads"


def write_file(path: Path, content: str | bytes | Iterator[str], inputs: Iterable[str | Path] = ()) -> None:
    """Write *content* to *path* whole or not at all; texts as UTF-8. Raises :class:`InputError`.

    It is written beside and renamed; a file that was there keeps its mode and owner.
    """
    refuse_output(path, inputs)
    pieces = iter([content]) if isinstance(content, str | bytes) else content
    temporary = path.parent / f".capcheck-{os.urandom(8).hex()}.tmp"
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    try:
        with os.fdopen(os.open(temporary, flags, 0o666), "wb") as file:
            _take_after(path, file.fileno())
            for piece in pieces:
                file.write(piece.encode(errors="backslashreplace") if isinstance(piece, str) else piece)
        temporary.replace(path)
    except OSError as error:
        raise _cannot(path, error) from None
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()


def _take_after(path: Path, descriptor: int) -> None:
    """Give a new file the owner and the mode of the one that it replaces; never that it runs as its owner or group."""
    try:
        there = path.lstat()
    except FileNotFoundError:
        return
    made = os.fstat(descriptor)
    if hasattr(os, "fchown") and (there.st_uid, there.st_gid) != (made.st_uid, made.st_gid):
        os.fchown(descriptor, there.st_uid, there.st_gid)
    if hasattr(os, "fchmod"):
        os.fchmod(descriptor, stat.S_IMODE(there.st_mode) & 0o777)


def _cannot(path: Path, error: Exception) -> InputError:
    reason = (error.strerror if isinstance(error, OSError) else "") or str(error)
    return InputError.at(str(path), f"cannot be written: {reason}", remedy="name a file in a folder that is there")
