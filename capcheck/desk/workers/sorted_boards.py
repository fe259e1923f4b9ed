"""What came told apart: the boards in the files, folders and archives of a quote, each put into a folder of its own."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from pathlib import Path

from msgspec import Struct

from capcheck.checking import prepare, read_prepared
from capcheck.desk.workers.orders import FoundBoard, FoundFile, Order, Result, told_of
from capcheck.desk.workers.shop_of_order import settings_of
from capcheck.intake import OF_MANY_BOARDS, is_archive, plain, shown, unpacked
from capcheck.model import InputFile
from capcheck.survey import NotChecked, checked_boards


class _Place(Struct, frozen=True):
    """A board as it was found: where it lies, and the files it was read from."""

    name: str
    inputs: tuple[InputFile, ...]


def sort_boards(order: Order, into: Path) -> Result:
    """Return the boards in the folder of what came, copied into folders below *into*.

    A folder that is read as a board is one, with all its files, also those that nothing was read from. What came in
    one folder and gives no board is kept as one all the same: its check says what is missing.
    """
    given = prepare(settings_of(order), None)
    found: list[FoundBoard] = []
    refused: list[str] = []

    def look(path: Path) -> _Place:
        board = read_prepared(given.of_board(path), path)
        whole = path if path.is_dir() else path.parent if path.suffix == ".toml" else None
        # Of lists of several boards in one folder, each board has the files that it was read from.
        files = _files_in(whole) if whole is not None else [Path(file.path) for file in board.inputs]
        place = whole or Path(os.path.commonpath([file.parent for file in files]))
        found.append(_copied(place, files, board.name, len(found) + 1, into))
        return _Place(board.name, tuple(board.inputs))

    source = Path(order.source)
    for outcome in checked_boards([source], look):
        if isinstance(outcome, NotChecked):
            refused += told_of(outcome.error)
    if not found:
        found.append(_all_of_it(source, order.name, into))
    return Result("done", tuple(refused), tuple(found))


def _all_of_it(source: Path, name: str, into: Path) -> FoundBoard:
    """Return all that came as one board, its archives unpacked."""
    archives = [path for path in _files_in(source) if is_archive(path)]
    for path in archives:
        with unpacked(path, OF_MANY_BOARDS) as content:
            for file in _files_in(content.folder):
                target = into / "unpacked" / plain(path.name) / file.relative_to(content.folder)
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(file, target)
    if archives:
        source = into / "unpacked"
    return _copied(source, _files_in(source), name, 1, into)


def _files_in(folder: Path) -> list[Path]:
    """Return the plain files in a folder and below it."""
    return [path for path in sorted(folder.rglob("*")) if path.is_file() and not path.is_symlink()]


def _copied(source: Path, paths: Sequence[Path], name: str, number: int, into: Path) -> FoundBoard:
    """Copy files of a folder into one for a board."""
    folder = into / f"board-{number}" / plain(name)
    files = []
    for path in paths:
        inside = path.relative_to(source)
        target = folder / inside
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, target)
        files.append(FoundFile(shown(path).removeprefix(f"{source}/"), inside.as_posix(), target.stat().st_size))
    return FoundBoard(name, folder.relative_to(into).as_posix(), tuple(files))
