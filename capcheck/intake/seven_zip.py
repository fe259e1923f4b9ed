"""The files of a 7z archive, whose packing runs through many of them: what is asked for next is unpacked in one go."""

from __future__ import annotations

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
        self.files = tuple(
            Packed(one.filename, one.uncompressed or 0, one.is_symlink)
            for one in self._archive.list()
            if not one.is_directory
        )
        self._plain: Sequence[Packed] = [one for one in self.files if not one.is_link]
        self._at_once = at_once
        self._unpacked: dict[str, bytes] = {}

    def read(self, name: str) -> bytes:
        """Return the bytes of a file, and unpack those that follow it along with it."""
        if name not in self._unpacked:
            self._unpacked = self._from(name)
        return self._unpacked[name]

    def _from(self, name: str) -> dict[str, bytes]:
        from py7zr.io import BytesIOFactory

        wanted: list[str] = []
        size = 0
        first = next(number for number, one in enumerate(self._plain) if one.name == name)
        for one in self._plain[first:]:
            if wanted and size + one.size > self._at_once:
                break
            wanted.append(one.name)
            size += one.size
        factory = BytesIOFactory(limit=max(size, 1))
        self._archive.reset()
        self._archive.extract(targets=wanted, factory=factory)
        return {one: bytes(product.read()) for one, product in factory.products.items() if product.seek(0) == 0}


def locked(file: str) -> InputError:
    """Return the error of an archive that a password protects."""
    return InputError.at(file, "it is protected by a password", remedy="unpack it, and give the files themselves")
