"""The files of a 7z archive, whose packing runs through many of them: what is asked for next is unpacked in one go."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import IO, TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.values import InputError

if TYPE_CHECKING:
    import py7zr

SIGN: Final = b"7z\xbc\xaf\x27\x1c"
"""How such a file begins (7zFormat.txt of the LZMA SDK, section "Signature Header")."""
LIBRARY: Final = "py7zr"


class Packed(Struct, frozen=True):
    """A file that an archive declares, no folder."""

    name: str
    size: int
    is_link: bool
    number: int = 0
    """Which of the files of its name it is, from 0."""


class SevenZip:
    """An archive opened on a stream; *at_once* are the bytes that are unpacked in one go.

    Raises :class:`InputError` where the library is not installed or the list of files itself needs a password.
    """

    def __init__(self, file: str, stream: IO[bytes], at_once: int) -> None:
        try:
            import py7zr
            from py7zr.exceptions import PasswordRequired
        except ImportError:
            raise InputError.at(
                file,
                f"is opened by the library {LIBRARY}, which is not installed",
                remedy='install it with: pip install "capcheck[7z]"; or unpack it',
            ) from None
        try:
            self._archive: py7zr.SevenZipFile = py7zr.SevenZipFile(stream)
        except PasswordRequired:
            raise locked(file) from None
        self.is_locked = self._archive.needs_password()
        times: Counter[str] = Counter()
        found: list[Packed] = []
        for one in self._archive.list():
            if not one.is_directory:
                found.append(Packed(one.filename, one.uncompressed or 0, one.is_symlink, times[one.filename]))
                times[one.filename] += 1
        self.files = tuple(found)
        self._plain: Sequence[Packed] = [one for one in self.files if not one.is_link]
        self._at_once = at_once
        self._unpacked: dict[Packed, bytes] = {}

    def read(self, file: Packed) -> bytes:
        """Return the bytes of a file, and unpack those that follow it along with it."""
        if file not in self._unpacked:
            self._unpacked = self._from(file)
        return self._unpacked[file]

    def _from(self, file: Packed) -> dict[Packed, bytes]:
        """Return the files from one on, with all others of their names: the library is asked by names."""
        from py7zr.io import BytesIOFactory, Py7zIO

        names: set[str] = set()
        size = 0
        for one in self._plain[self._plain.index(file) :]:
            if names and size + one.size > self._at_once:
                break
            names.add(one.name)
            size += one.size
        wanted = [one for one in self._plain if one.name in names]
        made: dict[str, list[Py7zIO]] = {}

        class EachOfAName(BytesIOFactory):
            """Keeps what is made for every file: of two of one name the library's own keeps the last."""

            def create(self, filename: str) -> Py7zIO:
                product = super().create(filename)
                made.setdefault(filename, []).append(product)
                return product

        self._archive.reset()
        limit = max(1, *(one.size for one in wanted))
        self._archive.extract(targets=list(names), factory=EachOfAName(limit=limit))
        # The library numbers the names that stand in an archive before: a, a_0, a_1.
        products = [made[f"{one.name}_{one.number - 1}" if one.number else one.name].pop(0) for one in wanted]
        return {
            one: bytes(product.read()) for one, product in zip(wanted, products, strict=True) if not product.seek(0)
        }


def locked(file: str) -> InputError:
    """Return the error of an archive that a password protects."""
    return InputError.at(file, "it is protected by a password", remedy="unpack it, and give the files themselves")
