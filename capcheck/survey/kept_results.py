"""Results that a folder keeps, by the content of all that they hang on, so that a run goes on where one was stopped.

A result is taken where board, lines, rules, libraries, configuration and version are what they were, byte for byte.
What cannot be read, or says something else, is worked out anew.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import errno
import hashlib
import os
import stat
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final, Self, TypeVar

import msgspec
from msgspec import Struct

from capcheck.checking import Prepared
from capcheck.intake import BoardFiles, NoPlacementsError, SeveralBoardsError, decoded, encoded, shown
from capcheck.machines import Line
from capcheck.values import InputError, Problem
from capcheck.version import __version__

Kept = TypeVar("Kept", bound=Struct)
_FORM: Final = "4"
_LARGEST: Final = 500_000_000
"""Bytes of a board's folder that are looked through; what holds more is worked out each time."""
_LARGEST_RESULT: Final = 50_000_000
_CHUNK: Final = 1 << 20


class BesideTheBoard:
    """What results hang on beside the boards, a digest for all that the same layers of the configuration settle.

    *further* are texts on which they hang as well. Raises :class:`InputError` where a layer cannot be settled.
    """

    def __init__(self, given: Prepared, lines: Sequence[Line] = (), further: Sequence[str] = ()) -> None:
        self._lines = lines
        self._further = further
        self._digests: dict[object, bytes] = {}
        self(given)

    def __call__(self, given: Prepared) -> bytes:
        """Return the digest of what holds for a board: *given* is of this board."""
        layers = given.settings.layers
        if layers not in self._digests:
            parts = (*self._further, repr(layers), *_beside_the_board(given, self._lines))
            self._digests[layers] = digest_of(parts)
        return self._digests[layers]


def digest_of(parts: Iterable[str | Path]) -> bytes:
    """Return a digest of this program, and of texts and files by their content."""
    digest = hashlib.sha256()
    for part in (_FORM, __version__, _of_program(), *parts):
        digest.update(part.encode() if isinstance(part, str) else _content(part))
        digest.update(b"\0")
    return digest.digest()


def _beside_the_board(given: Prepared, lines: Sequence[Line]) -> Iterator[str | Path]:
    """Yield what a result hangs on beside the board: lines, the shop's files, the store, and the day of waivers."""
    yield f"{given.settings.strict}"
    yield from (file.sha256 for line in lines for file in line.inputs)
    for path, role in given.settings.files():
        yield role
        yield path
    if given.settings.store is not None:
        from capcheck.store import open_store

        with open_store(given.settings.store, create=False, read_only=True) as store:
            yield f"{store.state()} {given.settings.customer}"
    if given.settings.waivers:
        yield dt.date.today().isoformat()  # noqa: DTZ011 - a waiver ends on the day of whoever runs this
    for rule in given.rules:
        yield f"{rule.entry!r} {rule.limits!r}"


class _NoBoard(Struct, frozen=True):
    """That a folder is no board itself, as the error says it."""

    problems: tuple[Problem, ...]
    holds_parts: bool
    lists: tuple[str, ...] = ()
    """The names of the first lists of the boards that lie side by side in it."""

    @classmethod
    def of(cls, error: NoPlacementsError) -> Self:
        lists = error.boards if isinstance(error, SeveralBoardsError) else ()
        return cls(error.problems, error.holds_parts, tuple(file.name for file in lists))

    def error(self, folder: Path) -> NoPlacementsError:
        if self.lists:
            several = SeveralBoardsError(self.problems)
            several.boards = {folder / name: BoardFiles(()) for name in self.lists}
            return several
        found = NoPlacementsError(self.problems)
        found.holds_parts = self.holds_parts
        return found


class Results:
    """The results that *folder* keeps, of what hangs on a digest *beside* each board, and on its files."""

    def __init__(self, folder: Path, beside: Callable[[Prepared], bytes]) -> None:
        self._folder = folder
        self._beside = beside
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise InputError.at(
                str(folder), f"cannot hold results: {error.strerror}", "they are kept in a folder", "name another"
            ) from None

    def of(self, path: Path, given: Prepared, form: type[Kept], work: Callable[[Path, Prepared], Kept]) -> Kept:
        """Return the result that is kept of the board in *path*, else what *work* makes of it, which is kept.

        *given* is what holds for this board, settled once for the name of the result and for the work.
        That there is no board of its own is kept as well: to find that, all that lies below may have been read.
        """
        key = self._key(path, given)
        if key is None:
            return work(path, given)
        file = self._folder / f"{key}.msgpack"
        none = self._folder / f"{key}.none"
        with contextlib.suppress(OSError, msgspec.MsgspecError, ValueError, RecursionError):
            return decoded(_kept(file), form)
        with contextlib.suppress(OSError, msgspec.MsgspecError, ValueError, RecursionError):
            raise decoded(_kept(none), _NoBoard).error(path)
        try:
            result = work(path, given)
        except NoPlacementsError as error:
            with contextlib.suppress(OSError):
                _keep(none, encoded(_NoBoard.of(error)))
            raise
        with contextlib.suppress(OSError):  # a full disk costs the keeping, not the result
            _keep(file, encoded(result))
        return result

    def _key(self, path: Path, given: Prepared) -> str | None:
        """Return a name for a board by its place and what is in it; None where that cannot be looked through."""
        folder = path if path.is_dir() else path.parent  # of a board.toml, or of a list among those of other boards
        left = _LARGEST
        try:
            # Where it lies is part of the result: it names its files, and a configuration may name the place.
            digest = hashlib.sha256(self._beside(given) + shown(path).encode(errors="surrogatepass"))
            for file in _files_below(folder):
                left -= file.stat().st_size
                if left < 0:
                    return None
                digest.update(f"\0{file.relative_to(folder)}\0".encode(errors="surrogatepass"))
                digest.update(_content(file))
        except (OSError, InputError):  # the work itself says what is wrong
            return None
        return digest.hexdigest()


def _kept(file: Path) -> bytes:
    """Return what a file holds that may be a result. Raises :class:`OSError` for a link, a pipe, a device."""
    there = file.lstat()
    if not stat.S_ISREG(there.st_mode) or there.st_size > _LARGEST_RESULT:
        raise OSError(errno.EINVAL, "is no result")
    return file.read_bytes()


def _keep(file: Path, content: bytes) -> None:
    """Write a result whole or not at all, and through no link. Raises :class:`OSError`."""
    part = file.with_name(f"{file.name}.{os.urandom(8).hex()}")
    try:
        with part.open("xb") as stream:
            stream.write(content)
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)


def _of_program() -> str:
    """Return what changes with the program where its version does not: files and times of the package."""
    files = Path(__file__).parents[1].rglob("*.*ml")  # tables beside the modules
    modules = Path(__file__).parents[1].rglob("*.py")
    return " ".join(sorted(f"{file.name}{file.stat().st_mtime_ns}" for file in (*files, *modules)))


def _files_below(folder: Path) -> Iterator[Path]:
    for here, below, files in os.walk(folder):
        below.sort()
        for name in sorted(files):
            file = Path(here) / name
            if file.is_file():  # neither a device nor a pipe, which never ends
                yield file


def _content(file: Path) -> bytes:
    digest = hashlib.sha256()
    with file.open("rb") as stream:
        while chunk := stream.read(_CHUNK):
            digest.update(chunk)
    return digest.digest()
