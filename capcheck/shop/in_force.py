"""Which configuration holds where none is named: the nearest in the working directory or above it.

A customer's folder is data. What lies in or below a board's own folder is never obeyed, however the board is named, and
neither is what lies above the board but not above the working directory: a customer's archive may bring both.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from msgspec.structs import replace

from capcheck.model import say
from capcheck.shop.configuration import OWN_FILE, SHARED_FILE, Configuration, NotObeyed, read_configuration
from capcheck.values import InputError, load_toml

_BOARD_FILE: Final = "board.toml"
_LARGEST: Final = 8_000_000
"""Bytes of a pyproject.toml that is opened to see whether it has our table."""


def configuration_of(board: Sequence[str | Path] = (), named: str | Path | None = None) -> Configuration:
    """Return the configuration *named*, else the nearest upwards from the working directory that may hold.

    *board* is what names the board: its folder, its board.toml, its files. In one folder ``capcheck.toml`` comes
    before ``pyproject.toml``, which counts only with a ``[tool.capcheck]``. Raises
    :class:`~capcheck.values.InputError`.
    """
    if named is not None:
        return read_configuration(named)
    own = _own_folders(board)
    here = Path.cwd()
    passed: list[NotObeyed] = []
    found = Configuration(board_folders=tuple(own))
    for path in _candidates(here):
        if lies_in(path, own) or _is_in_a_board_folder(path):
            passed.append(NotObeyed(path, say("shop.in the board's folder", file=str(path))))
            continue
        read = read_configuration(path)
        stated = [] if board or read.values.board is None else _own_folders([read.beside(read.values.board)])
        if lies_in(path, stated):
            passed.append(NotObeyed(path, say("shop.in the board's folder", file=str(path))))
            continue
        found = replace(read, is_named=False, board_folders=tuple(own or stated))
        break
    return replace(found, not_obeyed=(*passed, *_beside_the_way(found.board_folders, here)))


def lies_in(path: Path, folders: Sequence[Path]) -> bool:
    """Whether a path lies in one of the folders or below it, as it is named or as its links lead."""
    real = path.resolve()
    places = {*_absolute(path).parents, *real.parents, real}
    return any(_is_same(place, folder) for folder in folders for place in places)


def _is_same(one: Path, other: Path) -> bool:
    """Whether two paths are one folder, also where the file system takes capitals for small letters."""
    try:
        return one == other or one.samefile(other)
    except OSError:
        return False


def _own_folders(board: Sequence[str | Path]) -> list[Path]:
    """Return the folders of a board's files, links resolved."""
    folders: dict[Path, None] = {}
    for name in board:
        path = Path(name)
        places = [path] if path.is_dir() else [path.parent, path.resolve().parent]
        folders |= dict.fromkeys(place.resolve() for place in places)
    return list(folders)


def _candidates(start: Path) -> Iterator[Path]:
    """Yield what may be a configuration in a folder and those above it, the nearest first."""
    for folder in (start, *start.parents):
        yield from (
            _as_seen(path) for name in (OWN_FILE, SHARED_FILE) if (path := folder / name).is_file() and _is_ours(path)
        )


def _beside_the_way(folders: Sequence[Path], here: Path) -> list[NotObeyed]:
    """Return the configurations above the board's folders that are not above the working directory."""
    passed: dict[Path, NotObeyed] = {}
    way = here.resolve()
    for folder in folders:
        for path in _candidates(folder):
            if way.is_relative_to(_absolute(path).parent):
                break
            inside = lies_in(path, folders)
            key = "shop.in the board's folder" if inside else "shop.not above the working directory"
            passed.setdefault(path, NotObeyed(path, say(key, file=str(path))))
    return list(passed.values())


def _is_in_a_board_folder(path: Path) -> bool:
    """Whether a file lies below a board.toml or beside placement data, of whichever board."""
    folders = _absolute(path).parents
    if any((folder / _BOARD_FILE).is_file() for folder in folders):
        return True
    from capcheck.intake import holds_placements  # with all that tells files apart

    return holds_placements(folders[0])


def _absolute(path: Path) -> Path:
    """Return the path from the root, without ``..`` but with its last link as it stands."""
    return path.absolute().parent.resolve() / path.name


def _as_seen(path: Path) -> Path:
    """Return *path* from the working directory where it is below it: shorter, and the same on every machine."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path


def _is_ours(path: Path) -> bool:
    """Whether a file holds a configuration; a damaged pyproject.toml that names this program may hold one."""
    if path.name == OWN_FILE:
        return True
    try:
        if path.stat().st_size > _LARGEST:
            return True  # and reading it says that it is too large: what it asks for would be lost without a word
        if b"capcheck" not in path.read_bytes():
            return False
        tool = load_toml(path, "configuration")[0].get("tool")
    except OSError:
        return False
    except InputError:
        return True
    return isinstance(tool, dict) and "capcheck" in tool
