"""Files as they are sent: streamed to disk under names of ours, within limits, and all or none of them kept."""

from __future__ import annotations

import errno
import shutil
from pathlib import Path
from typing import IO, TYPE_CHECKING, Final

from msgspec import Struct, field
from python_multipart.exceptions import FormParserError
from python_multipart.multipart import MultipartParser, parse_options_header

from capcheck.intake import MemberPlaces
from capcheck.values import InputError, Place, Problem, pattern

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable

_MOST_FIELDS: Final = 60
_DEEPEST: Final = 8
_LONGEST_HEADER: Final = 8_000
"""Bytes of what stands before one part of a body."""
_BESIDE: Final = 4 * 1024 * 1024
"""Bytes of a body beside its files: what stands before each, and fields."""
_UNWRITABLE: Final = pattern(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")


class UploadLimits(Struct, frozen=True):
    """How many files may come at once, and of how many bytes: each, and all together."""

    files: int = 2_000
    each: int = 64 * 1024 * 1024
    total: int = 256 * 1024 * 1024
    field: int = 4_000
    """Bytes of what is typed in one field."""


LIMITS: Final = UploadLimits()


def as_text(given: str) -> str:
    """Return what was typed without signs that no text has: a database keeps no NUL, and a terminal obeys an escape."""
    return _UNWRITABLE.sub("", given)


class Arrived(Struct):
    """What came: fields by name, and files as shown name, path and bytes."""

    fields: dict[str, str] = field(default_factory=dict)
    files: list[tuple[str, Path, int]] = field(default_factory=list)


class _Receiver:
    """Takes the parts of one body; *begin* is told the fields before the first file, and says where files go."""

    def __init__(self, begin: Callable[[dict[str, str]], Path], limits: UploadLimits) -> None:
        self.arrived = Arrived()
        self.folder: Path | None = None
        self.is_whole = False
        self._begin = begin
        self._limits = limits
        self._places: MemberPlaces | None = None
        self._header = b""
        self._value = b""
        self._headers: dict[str, bytes] = {}
        self._name = ""
        self._shown: str | None = None
        self._text = bytearray()
        self._out: IO[bytes] | None = None
        self._path = Path()
        self._size = 0
        self._total = 0
        self._came = 0

    def callbacks(self) -> dict[str, Callable[..., None]]:
        """Return what the parser calls."""
        return {
            "on_part_begin": self._part,
            "on_header_field": self._header_field,
            "on_header_value": self._header_value,
            "on_header_end": self._header_end,
            "on_headers_finished": self._headers_end,
            "on_part_data": self._data,
            "on_part_end": self._end,
            "on_end": self._whole,
        }

    def _whole(self) -> None:
        self.is_whole = True

    def refuse_torn(self) -> None:
        """Raise where the end of the body has not come."""
        if not self.is_whole:
            raise FormParserError("its end is missing")

    def count(self, size: int) -> None:
        """Raise where a body has come to more than what it may hold needs."""
        self._came += size
        if self._came > self._limits.total + _BESIDE:
            raise _refused("there is more than files of that size need", "send fewer at once")

    def close(self) -> None:
        """Close a file that is being written."""
        if self._out is not None:
            self._out.close()
            self._out = None

    def _part(self) -> None:
        self._headers, self._name, self._shown = {}, "", None
        self._text.clear()
        self._size = 0

    def _header_field(self, data: bytes, start: int, end: int) -> None:
        self._header += data[start:end]
        self._refuse_endless()

    def _header_value(self, data: bytes, start: int, end: int) -> None:
        self._value += data[start:end]
        self._refuse_endless()

    def _refuse_endless(self) -> None:
        if len(self._header) + len(self._value) > _LONGEST_HEADER or len(self._headers) > _MOST_FIELDS:
            raise FormParserError("what stands before a part has no end")

    def _header_end(self) -> None:
        self._headers[self._header.decode("latin-1").casefold()] = self._value
        self._header = self._value = b""

    def _headers_end(self) -> None:
        _, options = parse_options_header(self._headers.get("content-disposition", b""))
        self._name = as_text(options.get(b"name", b"").decode(errors="replace"))[:100]
        if b"filename" not in options:
            return
        self._shown = as_text(options[b"filename"].decode(errors="replace")).replace("\\", "/")[:500]
        if not self._shown:
            return
        if len(self.arrived.files) >= self._limits.files:
            raise _refused(f"there are more than {self._limits.files:,} files", "send the folder as one archive")
        if self.folder is None or self._places is None:
            self.folder = self._begin(self.arrived.fields)
            self._places = MemberPlaces(self.folder, _DEEPEST)
        self._path = self._places.of(self._shown, len(self.arrived.files))
        self._out = self._path.open("xb")

    def _data(self, data: bytes, start: int, end: int) -> None:
        self._size += end - start
        if self._out is None:
            if self._shown is None and self._size > self._limits.field:
                raise _refused("a field is too long", "shorten it")
            self._text += data[start:end] if self._shown is None else b""
            return
        self._total += end - start
        if self._size > self._limits.each:
            raise _refused(
                f'"{self._shown}" is larger than {self._limits.each / 1e6:,.0f} MB',
                "leave it out, or split the archive",
            )
        if self._total > self._limits.total:
            raise _refused(
                f"the files are larger than {self._limits.total / 1e6:,.0f} MB together", "send fewer at once"
            )
        self._out.write(data[start:end])

    def _end(self) -> None:
        if self._out is not None:
            self.close()
            self.arrived.files.append((self._shown or "", self._path, self._size))
        elif self._shown is None:
            if len(self.arrived.fields) >= _MOST_FIELDS:
                raise _refused("there are too many fields", "reload the page")
            self.arrived.fields[self._name] = as_text(self._text.decode(errors="replace")).strip()


def _refused(what: str, remedy: str) -> InputError:
    return InputError.at(
        "the files sent", what, "a desk takes what one quote brings, and keeps room for the next", remedy
    )


async def receive(
    stream: AsyncIterator[bytes], content_type: str, begin: Callable[[dict[str, str]], Path], limits: UploadLimits
) -> Arrived:
    """Return what came; *begin* is told the fields that stand before the first file, and says where files go.

    Whatever is wrong, the folder is taken away again, and the rest of the body is read and forgotten, since a browser
    hears an answer only then. Raises :class:`~capcheck.values.InputError`.
    """
    kind, options = parse_options_header(content_type)
    if kind != b"multipart/form-data" or b"boundary" not in options:
        raise _refused("nothing was sent", "choose files, or drop them on the page")
    receiver = _Receiver(begin, limits)
    try:
        parser = MultipartParser(options[b"boundary"], receiver.callbacks())  # type: ignore[arg-type] # a dict of all
        async for chunk in stream:
            receiver.count(len(chunk))
            parser.write(chunk)
        receiver.refuse_torn()
    except BaseException as error:
        receiver.close()
        if receiver.folder is not None:
            shutil.rmtree(receiver.folder, ignore_errors=True)
        if isinstance(error, InputError | OSError | FormParserError):
            await _forget(stream, limits.total)
        if isinstance(error, OSError):
            raise InputError(of_the_folder(error)) from None
        if isinstance(error, FormParserError):
            raise _refused("the files arrived torn", "send them again") from None
        raise
    return receiver.arrived


def of_the_folder(error: OSError) -> Problem:
    """Return the problem that a desk's folder has."""
    full = error.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
    return Problem(
        Place("the desk's folder"),
        "the disk is full" if full else f"cannot be written: {error.strerror or error}",
        "nothing of what was sent was kept",
        "make room, then send it again" if full else "see who may write there, then send it again",
    )


async def _forget(stream: AsyncIterator[bytes], most: int) -> None:
    left = most
    async for chunk in stream:
        left -= len(chunk)
        if left < 0:
            return
