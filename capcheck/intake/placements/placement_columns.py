"""One table of placements: what is known of its file beforehand, and its columns, in the file's own unit and frame."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct, field

from capcheck.intake.placements.row_kinds import NoPart
from capcheck.intake.tables import Columns, DimensionColumns, FittedColumn, Role, StatedUnit, Table
from capcheck.model import Codes, Decision, Flags, Floats, Ints, Note, Said, Side
from capcheck.values import Place


class Known(Struct, frozen=True):
    """What board.toml, or the caller, states about one placement file."""

    units: str | None = None
    decimal: str | None = None
    side: Side | None = None
    kinds: Mapping[str, str] = field(default_factory=dict)
    variant: str | None = None
    paired: tuple[Side, Said] | None = None
    """The side that the file's name tells beside the other file's, with the evidence."""


class PlacementColumns(Struct, frozen=True):
    """One table's placements as columns of equal length, coordinates still in the file's own unit and frame.

    *x* and *y* are the body centre as far as the header tells; *other_pairs* are further x/y columns. *stated* is
    None where neither board.toml nor the file names the unit. *apart* says what the rows are that are no parts.
    """

    table: Table
    columns: Columns
    ref: Sequence[str]
    x: Floats
    y: Floats
    other_pairs: tuple[tuple[Floats, Floats], ...]
    stated: StatedUnit | None
    rotation_deg: Floats
    side: Codes
    kind: Codes
    apart: Mapping[int, NoPart]
    fitted: FittedColumn
    row: Ints
    stem: tuple[Ints, list[str]]
    """Each reference without its number, as code and distinct texts."""
    texts: Mapping[Role, tuple[Ints, list[str]]]
    """The columns of text likewise: each cell's code, and the distinct texts."""
    dimensions: DimensionColumns
    place_open: Flags | None = None
    """Rows whose place is open: their columns may have shifted, or another file has another. None where none is."""
    body_open: Flags | None = None
    """Rows of which likewise no text tells the body."""
    notes: tuple[Note, ...] = ()
    decisions: tuple[Decision, ...] = ()
    asked: Mapping[int, Said] = field(default_factory=dict)
    """Rows of which it is open whether they count, and why."""
    by_hand: Mapping[int, str] = field(default_factory=dict)
    """Rows of which a text says that their part is fitted by hand, with that text."""
    unread: Mapping[int, tuple[str, str]] = field(default_factory=dict)
    """Rows with a coordinate that cannot be read, with the title of its column and what it says."""
    doubted: Mapping[int, Said] = field(default_factory=dict)
    """Rows that are parts by what is bought or stated, and no parts by what a text names, with both."""

    def __len__(self) -> int:
        return len(self.ref)

    def text(self, role: Role, row: int) -> str:
        """Return the cell of *role* in the row with this index, blank where the table has no such column."""
        if role not in self.texts:
            return ""
        codes, texts = self.texts[role]
        return texts[int(codes[row])]

    def place(self, row: int) -> Place:
        """Return the place of the row with this index."""
        return Place(self.table.file, int(self.row[row]), sheet=self.table.sheet)


def with_starts(files: Iterable[PlacementColumns]) -> Iterator[tuple[PlacementColumns, int]]:
    """Yield each file with the index of its first row among those of all files."""
    start = 0
    for file in files:
        yield file, start
        start += len(file)
