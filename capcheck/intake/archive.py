"""A zip archive in a customer's folder: what it holds, unpacked under limits into a folder of this run alone.

The reading process takes it apart and hands on names and bytes. Nothing of a name becomes a path but its last parts, so
that no name leads elsewhere, and the folder is gone when the run ends.
"""

from __future__ import annotations

import atexit
import io
import os
import re
import shutil
import tempfile
import zipfile
import zlib
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from msgspec import Struct

from capcheck.intake.confined import Reader
from capcheck.values import InputError

_SUFFIX: Final = ".zip"
_CLOSED: Final = frozenset({".7z", ".rar", ".gz", ".tgz", ".tar", ".bz2", ".xz", ".z"})
_MOST_FILES: Final = 200
_LARGEST: Final = 24 * 1024 * 1024
_DENSEST: Final = 200
_REMEDY: Final = "unpack it, and put the files of the board into one folder"
_DEEPEST: Final = 3
_UNSAFE: Final = r"[^\w.()+ -]"


_UNPACKED: Final[dict[str, str]] = {}


class Member(Struct, frozen=True):
    """A file of an archive: its name, with the folders it lies in, and its bytes."""

    name: str
    data: bytes


def is_archive(file: Path) -> bool:
    """Whether a file is an archive by its name; workbooks are archives too, and are none here."""
    return file.suffix.lower() in {_SUFFIX, *_CLOSED}


def unpacked_from() -> dict[str, str]:
    """Return the archive of each folder that files were unpacked into, the inner folders first, for the board read."""
    return _UNPACKED


def unpack(file: Path) -> list[Path]:
    """Return the files of an archive, unpacked. Raises :class:`InputError` where it cannot be opened."""
    if file.suffix.lower() != _SUFFIX:
        raise InputError.at(str(file), "archives of this form are not opened", remedy=_REMEDY)
    members = Reader(f"{__name__}:{read_here.__name__}", _REMEDY).read(str(file), list[Member])
    folder = Path(tempfile.mkdtemp(prefix="capcheck-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    _UNPACKED[str(folder / file.name)] = str(file)
    _UNPACKED[str(folder)] = str(file)
    unpacked = []
    for number, member in enumerate(members):
        parts = [re.sub(_UNSAFE, "_", part)[-80:].strip(". ") or "_" for part in member.name.split("/")[-_DEEPEST:]]
        path = folder.joinpath(file.name, *parts)
        if path.exists() or not path.resolve().is_relative_to(folder.resolve()):
            path = folder / file.name / f"{number}-{parts[-1]}"
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError:  # a file bears the name of the folder
            path = folder / f"{number}-{parts[-1]}"
        path.write_bytes(member.data)
        unpacked.append(path)
    return unpacked


def folder_of_archive(file: Path) -> Path:
    """Return the folder with an archive's files, below folders that hold nothing else. Raises as :func:`unpack`."""
    files = unpack(file)
    if not files:
        raise InputError.at(str(file), "the archive holds no file")
    folder = Path(os.path.commonpath([path.parent for path in files]))
    unpacked_from()[str(folder)] = str(file)
    return folder


def read_here(file: str, _argument: bytes) -> Sequence[Member]:
    """Return the files of a zip archive, read in this process. Raises :class:`InputError`."""
    data = Path(file).read_bytes()
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        entries = [entry for entry in archive.infolist() if _is_wanted(entry)]
        size = sum(entry.file_size for entry in entries)
        if len(entries) > _MOST_FILES or size > _LARGEST or size > max(_DENSEST * len(data), 1 << 20):
            raise InputError.at(
                file,
                f"it holds {len(entries)} files of {size / 1e6:,.0f} MB",
                "an archive of one board holds fewer",
                _REMEDY,
            )
        if any(entry.flag_bits & 1 for entry in entries):
            raise InputError.at(file, "it is protected by a password", remedy=_REMEDY)
        return [Member(entry.filename.replace("\\", "/"), archive.read(entry)) for entry in entries]
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError):
        raise InputError.at(file, "the archive is damaged", remedy=_REMEDY) from None


def _is_wanted(entry: zipfile.ZipInfo) -> bool:
    parts = entry.filename.replace("\\", "/").split("/")
    return not entry.is_dir() and not any(part.startswith((".", "__MACOSX")) for part in parts if part.strip("."))
