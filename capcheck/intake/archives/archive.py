"""An archive in a customer's folder, or one that holds boards: unpacked under limits into a folder of this run alone.

The reading process takes it apart and hands on names and bytes. Nothing of a name becomes a path but its last parts, so
that no name leads elsewhere. What is no plain file is not unpacked.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import IO, TYPE_CHECKING, Final, Literal

import msgspec
from msgspec import Struct, field

from capcheck.intake.archives.member_places import MemberPlaces, plain
from capcheck.intake.archives.scratch import new_folder, remove_folder
from capcheck.intake.archives.seven_zip import LIBRARY, SIGN, SevenZip, locked
from capcheck.intake.confined import Reader
from capcheck.intake.files import names_as_text
from capcheck.values import InputError

if TYPE_CHECKING:
    import tarfile
    import zipfile
    from collections.abc import Callable

_SAYS_UTF_8: Final = 0x800
_UNSAID: Final = "cp437"
"""The encoding of names without that bit (APPNOTE.TXT of the ZIP file format, 4.4.4 and appendix D)."""
_SUFFIX: Final = ".zip"
_TARS: Final = (".tar", ".tgz", ".tar.gz", ".tbz2", ".tar.bz2", ".txz", ".tar.xz")
_SEVEN: Final = ".7z"
_CLOSED: Final = frozenset({".rar", ".gz", ".bz2", ".xz", ".z"})
_OPENED: Final = (_SUFFIX, _SEVEN, *_TARS)
_DENSEST: Final = 200
_SMALL: Final = 1 << 20
_LARGEST_FILE: Final = 24 * 1024 * 1024
_REMEDY: Final = "unpack it, and put the files of the board into one folder"
_NO_INPUT: Final = (".step", ".stp", ".pdf", ".png", ".jpg", ".jpeg")
"""Files that nothing is read from, and that are larger than all others together."""


class Limits(Struct, frozen=True):
    """How many files an archive may hold, of how many bytes in all, and how many folders deep they are told apart."""

    files: int
    size: int
    depth: int


OF_ONE_BOARD: Final = Limits(files=200, size=_LARGEST_FILE, depth=3)
OF_MANY_BOARDS: Final = Limits(files=5_000, size=256 * 1024 * 1024, depth=8)

_UNPACKED: Final[dict[str, str]] = {}
_LINKS: Final[dict[str, int]] = {}
_HOLDERS: Final[list[bool]] = []
"""The blocks that keep what is unpacked."""


class Member(Struct, frozen=True):
    """A file of an archive: its name, with the folders it lies in, and its bytes."""

    name: str
    data: bytes


class Asked(Struct, frozen=True):
    """What is asked of an archive: its files from a number on, under limits."""

    limits: Limits
    first: int = 0


class Portion(Struct):
    """As many files of an archive as are handed on at once, where the next portion begins, and what is left out."""

    members: list[Member] = field(default_factory=list)
    following: int | None = None
    links: int = 0
    too_large: list[str] = field(default_factory=list)


class Unpacked(Struct):
    """The folder that an archive was unpacked into, its files, and what was left out."""

    folder: Path
    files: list[Path] = field(default_factory=list)
    size: int = 0
    links: int = 0
    too_large: list[str] = field(default_factory=list)


def is_archive(file: Path) -> bool:
    """Whether a file is an archive by its name; workbooks are archives too, and are none here."""
    return file.suffix.lower() in {_SUFFIX, _SEVEN, *_CLOSED, *_TARS}


def unpacked_from() -> dict[str, str]:
    """Return the archive of each folder that files were unpacked into, the inner folders first, for the board read."""
    return _UNPACKED


def links_in(archive: str) -> int:
    """Return how many links of an archive were not unpacked."""
    return _LINKS.get(archive, 0)


def unpack(file: Path) -> list[Path]:
    """Return the files of an archive of one board, unpacked; :func:`removed_at_the_end` takes them away.

    Raises :class:`InputError` where it cannot be opened.
    """
    return _unpack(file, OF_ONE_BOARD).files


def folder_of_archive(file: Path) -> Path:
    """Return the folder with an archive's files, below folders that hold nothing else. As :func:`unpack`."""
    files = unpack(file)
    if not files:
        raise InputError.at(str(file), "the archive holds no file")
    folder = Path(os.path.commonpath([path.parent for path in files]))
    unpacked_from()[str(folder)] = str(file)
    return folder


@contextmanager
def unpacked(file: Path, limits: Limits) -> Iterator[Unpacked]:
    """Have an archive unpacked while the block runs. Raises :class:`InputError` where it cannot be opened."""
    with removed_at_the_end():
        yield _unpack(file, limits)


@contextmanager
def removed_at_the_end() -> Iterator[None]:
    """Take away what is unpacked in the block once it ends; the program may leave without any further step."""
    before = dict(_UNPACKED)
    try:
        yield
    finally:
        if not _HOLDERS:
            _remove([folder for folder in _UNPACKED if folder not in before])


@contextmanager
def unpacked_files_kept() -> Iterator[None]:
    """Keep what is unpacked in the block until it ends, though a block within it would take it away.

    Layers are read when the other files of a board have been.
    """
    _HOLDERS.append(True)
    before = dict(_UNPACKED)
    try:
        yield
    finally:
        _HOLDERS.pop()
        if not _HOLDERS:
            _remove([folder for folder in _UNPACKED if folder not in before])


def _remove(folders: Sequence[str]) -> None:
    for folder in folders:
        remove_folder(folder)
        _LINKS.pop(_UNPACKED.pop(folder), None)


@contextmanager
def unpacked_elsewhere(folders: Mapping[str, str]) -> Iterator[None]:
    """Know in the block what another process has unpacked, as its :func:`unpacked_from` tells; it stays that one's."""
    before = dict(_UNPACKED)
    _UNPACKED.update(folders)
    try:
        yield
    finally:
        _UNPACKED.clear()
        _UNPACKED.update(before)


def shown(path: Path) -> str:
    """Return a path as the user knows it: that of an unpacked file is the archive's, with the member behind it."""
    text = str(path)
    for folder, archive in _UNPACKED.items():
        if text == folder or text.startswith(f"{folder}/"):
            return f"{archive}{text[len(folder) :]}"
    return text


def _unpack(file: Path, limits: Limits) -> Unpacked:
    if not file.name.lower().endswith(_OPENED):
        raise InputError.at(str(file), "archives of this form are not opened", remedy=_REMEDY)
    name = shown(file)
    folder = new_folder()
    root = folder / plain(_stem(file.name))
    _UNPACKED[str(root)] = name
    _UNPACKED[str(folder)] = name
    root.mkdir()
    done = Unpacked(root)
    places = MemberPlaces(root, limits.depth)
    following: int | None = 0
    libraries = (LIBRARY,) if file.suffix.lower() == _SEVEN else ()
    reader = Reader(f"{__name__}:{read_here.__name__}", _REMEDY, libraries)
    while following is not None:
        portion = reader.read(str(file), Portion, Asked(limits, following))
        for number, member in enumerate(portion.members, following):
            path = places.of(member.name, number)
            path.write_bytes(member.data)
            done.files.append(path)
            done.size += len(member.data)
        following, done.links, done.too_large = portion.following, portion.links, portion.too_large
    if done.links:
        _LINKS[name] = done.links
    return done


def _stem(name: str) -> str:
    ending = max((end for end in _OPENED if name.lower().endswith(end)), key=len)
    return name[: -len(ending)]


Kind = Literal["file", "link", "closed"]


class _Entry(Struct, frozen=True):
    """A file that an archive declares."""

    name: str
    size: int
    kind: Kind
    read: Callable[[], bytes]


def read_here(file: str, argument: bytes) -> Portion:
    """Return a portion of the files of an archive, read in this process. Raises :class:`InputError`."""
    asked = msgspec.msgpack.decode(argument, type=Asked)
    with Path(file).open("rb") as stream:
        try:
            sign = stream.read(len(SIGN))
            form = _of_zip if sign.startswith(b"PK") else _of_seven_zip if sign == SIGN else _of_tar
            stream.seek(0)
            return _portion(file, Path(file).stat().st_size, form(file, stream, asked.limits), asked)
        except (InputError, MemoryError):
            raise
        except Exception:  # noqa: BLE001 - each library of a packing has errors of its own
            raise InputError.at(file, "the archive is damaged", remedy=_REMEDY) from None


def _of_zip(_file: str, stream: IO[bytes], _limits: Limits) -> Sequence[_Entry]:
    import zipfile

    archive = zipfile.ZipFile(stream)
    entries = []
    for name, entry in zip(_names_in_zip(archive), archive.infolist(), strict=True):
        linked = stat.S_ISLNK(entry.external_attr >> 16)
        kind: Kind = "link" if linked else "closed" if entry.flag_bits & 1 else "file"
        if not entry.is_dir():
            entries.append(_Entry(name, entry.file_size, kind, partial(archive.read, entry)))
    return entries


def _names_in_zip(archive: zipfile.ZipFile) -> list[str]:
    """Return the names as text; where the bit for UTF-8 is not set, a writer takes what its system has."""
    found = [entry.orig_filename.split("\0")[0] for entry in archive.infolist()]
    unsaid = [i for i, entry in enumerate(archive.infolist()) if not entry.flag_bits & _SAYS_UTF_8]
    for i, name in zip(unsaid, names_as_text([found[i].encode(_UNSAID) for i in unsaid], _UNSAID), strict=True):
        found[i] = name
    return found


def _of_seven_zip(file: str, stream: IO[bytes], _limits: Limits) -> Sequence[_Entry]:
    archive = SevenZip(file, stream, _LARGEST_FILE)
    plain: Kind = "closed" if archive.is_locked else "file"
    return [
        _Entry(one.name, one.size, "link" if one.is_link else plain, partial(archive.read, one))
        for one in archive.files
    ]


def _of_tar(file: str, stream: IO[bytes], limits: Limits) -> Sequence[_Entry]:
    import tarfile

    archive = tarfile.open(fileobj=stream)  # noqa: SIM115 - its members are read by the caller
    found: list[tarfile.TarInfo] = []
    size = wanted = 0
    for entry in archive:  # going on to the next header unpacks what lies between
        size += entry.size
        wanted += entry.isreg() and _is_wanted(entry.name)
        if wanted > limits.files or len(found) > 20 * limits.files or size > 20 * limits.size:
            raise _too_much(file, f"{len(found) + 1:,} files or more", size)
        if not entry.isdir():
            found.append(entry)

    def read(entry: tarfile.TarInfo) -> bytes:
        data = archive.extractfile(entry)
        return b"" if data is None else data.read()

    # What is no UTF-8 in them is kept by the library as it was.
    names = names_as_text([entry.name.encode(errors="surrogateescape") for entry in found], "latin-1")
    return [
        _Entry(name, entry.size, "file" if entry.isreg() else "link", partial(read, entry))
        for name, entry in zip(names, found, strict=True)
    ]


def _too_much(file: str, files: str, size: int) -> InputError:
    why = "more than is unpacked of one archive"
    return InputError.at(file, f"it holds {files} of {size / 1e6:,.0f} MB", why, _REMEDY)


def _portion(file: str, packed: int, declared: Sequence[_Entry], asked: Asked) -> Portion:
    wanted = [entry for entry in declared if _is_wanted(entry.name)]
    entries = [entry for entry in wanted if entry.kind != "link" and entry.size <= _LARGEST_FILE]
    links = sum(entry.kind == "link" for entry in wanted)
    large = [entry for entry in wanted if entry.kind != "link" and entry.size > _LARGEST_FILE]
    limits = asked.limits
    size = sum(entry.size for entry in (*entries, *large))
    dense = size > max(_DENSEST * packed, _SMALL)
    if len(entries) > limits.files or size > limits.size or dense:
        number = len(entries) + len(large)
        raise _too_much(file, f"{number:,} file{'s' * (number != 1)}", size)
    if any(entry.kind == "closed" for entry in entries):
        raise locked(file)
    part = Portion(links=links, too_large=[_as_text(entry.name) for entry in large])
    read = 0
    for number, entry in enumerate(entries[asked.first :], asked.first):
        if read + entry.size > _LARGEST_FILE:
            part.following = number
            break
        data = entry.read()
        if len(data) > entry.size:
            raise ValueError("more than it declares")
        read += len(data)
        part.members.append(Member("/".join(_parts(_as_text(entry.name))), data))
    return part


def _as_text(name: str) -> str:
    """Return a member's name as text; its bytes that are none, as in a tar of another encoding, become signs."""
    return name.encode(errors="replace").decode()


def _parts(name: str) -> list[str]:
    """Return folders and name of a member: some systems part them by a backslash, where others have it in names."""
    return name.split("/" if "/" in name else "\\")


def _is_wanted(name: str) -> bool:
    hidden = any(part.startswith((".", "__MACOSX")) for part in _parts(name) if part.strip("."))
    return not hidden and not name.lower().endswith(_NO_INPUT)
