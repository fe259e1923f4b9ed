"""What was understood: each file with its role, rows and columns, each reading with its evidence and the other one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Area, Found, Seen, data_in
from capcheck.desk.areas.changed import Changed, changed_since
from capcheck.desk.readings import FILE_ROLES, LAYER_ROLES, STATABLE, Statable
from capcheck.intake import Role, tables_of_file
from capcheck.lexicon import sentence
from capcheck.model import Board, ReadTable
from capcheck.report import without_folders
from capcheck.values import InputError

_MOST_ROWS: Final = 5
_MOST_CELLS: Final = 14
_LONGEST_CELL: Final = 40
_LARGEST: Final = 2_000_000
"""Bytes of a file whose first rows are read once more to be shown."""
_BOARD: Final = "board"


class Column(Struct, frozen=True):
    """A column by its title, the role it was taken for (empty for none), and the unit that its title names.

    *name* is what board.toml calls it: its title, or its number where the table has no titles.
    """

    title: str
    role: str = ""
    unit: str = ""
    name: str = ""


class TableRead(Struct, frozen=True):
    """A table of a file: how many rows count and were set aside, its columns, and its first rows as they stand."""

    file: str
    sheet: str
    role: str
    rows: int
    set_aside: int
    columns: tuple[Column, ...]
    head: tuple[tuple[str, ...], ...] = ()


class FileRead(Struct, frozen=True):
    """A file from which something was read, and what it was taken for."""

    path: str
    role: str


class Reading(Struct, frozen=True):
    """A reading of the files: what was taken, why, what else it could have been, the line that would state it."""

    words: str
    topic: str
    evidence: str
    otherwise: str
    settle: str
    open: bool = False


class Understood(Struct, frozen=True):
    """What was understood of a board's files; *stated* holds what its board.toml says, by key."""

    name: str
    size: str
    parts: int
    files: tuple[FileRead, ...]
    readings: tuple[Reading, ...]
    notes: tuple[str, ...]
    tables: tuple[TableRead, ...] = ()
    stated: dict[str, str] = {}


class FileShown(Struct, frozen=True):
    """A file of the board with its number in the store, its role, and the tables read of it."""

    number: int
    name: str
    role: str
    tables: tuple[TableRead, ...]


class ReadingShown(Struct, frozen=True):
    """A reading that can be changed, as it is now: *read* is what the files were taken to say, *stated* the entry."""

    of: Statable
    stated: str
    read: tuple[Reading, ...]


class Shown(Struct, frozen=True):
    """What the area shows: *first* are the readings that an entry settles and that were inferred or stated."""

    size: str
    parts: int
    files: tuple[FileShown, ...]
    first: tuple[ReadingShown, ...]
    further: tuple[ReadingShown, ...]
    others: tuple[Reading, ...]
    notes: tuple[str, ...]
    roles: tuple[str, ...]
    file_roles: tuple[str, ...]
    layer_roles: tuple[str, ...]
    changed: Changed | None
    undoable: int


def made(found: Found) -> Understood:
    """Return what was understood, in words."""
    board = found.board
    paths = [file.path for file in board.inputs]

    def told(text: str) -> str:
        return without_folders(text, paths)

    size = board.size
    sides = [f"{m.value.low:.4g}" for m in (size.length, size.width) if m.value.is_known]
    readings = tuple(
        Reading(
            told(sentence(one.choice)),
            str(one.topic),
            told(sentence(one.evidence)),
            told(sentence(one.runner_up)),
            told(sentence(one.settle)),
            one.open,
        )
        for one in board.decisions
    )
    return Understood(
        board.name,
        f"{' × '.join(sides)} mm" if len(sides) == 2 else "size not known",
        int(board.placements.is_part.sum()),
        tuple(FileRead(found.inside(file.path), file.role) for file in board.inputs),
        readings,
        tuple(told(sentence(note.said)) for note in board.notes),
        tuple(_table(table, found.inside(table.file)) for table in board.tables),
        dict(_stated(board)),
    )


def _table(table: ReadTable, file: str) -> TableRead:
    def name(title: str) -> str:
        return title if table.header_row is not None else title.rpartition(" ")[2]

    read = [Column(column.title, column.role, column.unit, name(column.title)) for column in table.columns]
    unused = [Column(title, name=name(title)) for title in table.unused]
    head = _first_rows(table)
    at = {cell.strip(): number for number, cell in enumerate(head[0] if head else ())}
    return TableRead(
        file,
        table.sheet or "",
        table.role,
        table.rows,
        table.set_aside,
        tuple(sorted((*read, *unused), key=lambda column: at.get(column.title, len(at)))),
        head,
    )


def _first_rows(table: ReadTable) -> tuple[tuple[str, ...], ...]:
    """Return the title row of a table and those below it; none of a file that cannot be read again at once."""
    path = Path(table.file)
    try:
        if path.stat().st_size > _LARGEST:
            return ()
        grids = tables_of_file(path)
    except (InputError, OSError):
        return ()
    titles = {column.title for column in table.columns} | {*table.unused}
    found: list[list[list[str]]] = []
    for grid in grids:
        numbered = zip(grid.rows, grid.numbers, strict=True)
        rows = [row for row, number in numbered if number >= (table.header_row or 1) and any(row)]
        if rows and grid.sheet == table.sheet:
            found.append(rows[: _MOST_ROWS + 1])
    # A text is read by each delimiter: the right one parts it into the columns that it was read by.
    best = max(found, key=lambda rows: len(titles & {cell.strip() for cell in rows[0]}), default=[])
    return tuple(tuple(map(_short, row[:_MOST_CELLS])) for row in best)


def _short(cell: str) -> str:
    return cell if len(cell) <= _LONGEST_CELL else f"{cell[:_LONGEST_CELL]}…"


def _stated(board: Board) -> Iterator[tuple[str, str]]:
    """Yield what board.toml states of the readings that can be stated here, each by its key."""
    for key in STATABLE:
        value: object = board.manifest
        *tables, last = key.split(".")
        for step in (*tables, last):
            is_there = value is not None and step in getattr(value, "model_fields_set", ())
            value = getattr(value, step) if is_there else None
        if value is not None:
            yield key, f"{value:g} mm" if isinstance(value, float) else str(value)


def shown(seen: Seen, data: Understood | None) -> Shown | None:
    """Return it with every file of the board, what can be changed, and what the last change did."""
    if data is None:
        return None
    readings = [
        ReadingShown(
            one,
            data.stated.get(one.key, ""),
            tuple(reading for reading in data.readings if reading.topic in one.topics),
        )
        for one in STATABLE.values()
    ]
    topics = {topic for one in STATABLE.values() for topic in one.topics}
    before = data_in(seen.before, "understood", Understood)
    return Shown(
        data.size,
        data.parts,
        tuple(_files(seen, data)),
        tuple(one for one in readings if one.stated or one.read),
        tuple(one for one in readings if not (one.stated or one.read)),
        tuple(one for one in data.readings if one.topic not in topics),
        data.notes,
        tuple(map(str, Role)),
        FILE_ROLES,
        LAYER_ROLES,
        None if before is None else changed_since(seen, _told(before.readings), _told(data.readings)),
        seen.undoable,
    )


def _told(readings: Sequence[Reading]) -> dict[str, str]:
    return {reading.topic: reading.words for reading in readings}


def _files(seen: Seen, data: Understood) -> Iterator[FileShown]:
    """Yield the files of a board, those first from which something was read."""
    files = []
    for file in seen.store.quotes.files(seen.quote.id, seen.board.id):
        roles = [one.role for one in data.files if one.path == file.path]
        tables = tuple(table for table in data.tables if table.file == file.path)
        files.append(FileShown(file.id, file.shown, ", ".join(dict.fromkeys(roles)), tables))
    yield from sorted((file for file in files if file.role != _BOARD), key=lambda file: not file.role)


AREA: Final = Area("understood", "What was understood", shown, Understood, made, ("read",))
