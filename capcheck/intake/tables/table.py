"""A table of a file: every cell is text and keeps its place in the file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct, field

from capcheck.intake.tables.named_parts import parts_named
from capcheck.model import Note, Said, SetAside
from capcheck.values import Place

_LONGEST_TEXT = 200


class Table(Struct, frozen=True):
    """One table of a file: a header, data cells by column, and every other row with the reason why it is none.

    ``len(row_numbers) + len(set_aside) == total_rows`` always holds. Rows are counted from 1; a quoted cell with line
    breaks belongs to the row it starts in. A run of more than 100 blank rows counts as one row.
    """

    file: str
    sheet: str | None
    header: tuple[str, ...]
    """The header's cells, stripped; empty if the table has no header."""
    header_row: int | None
    columns: Sequence[Sequence[str]]
    """Data cells by column, stripped; short rows are padded with ``""``."""
    row_numbers: Sequence[int]
    preamble: tuple[tuple[int, str], ...]
    """What stands before the header, as row and text."""
    titles: tuple[tuple[int, str], ...]
    """Rows of one cell alone, or with titles of columns, which may title those below them, as row and text.

    They are set aside.
    """
    set_aside: tuple[SetAside, ...]
    encoding: str
    """The encoding of a text by a readable name, or the form of a workbook: ``XLSX``, ``XLS``, ``ODS``."""
    delimiter: str
    """``comma``, ``semicolon``, ``tab``, ``pipe``, ``tab and comma``, ``fixed width``, ``spaces``, ``spreadsheet``
    or ``HTML``."""
    decimal: str | None
    """``.`` or ``,`` where the cells prove it: a number that could not have its thousands parted."""
    notes: tuple[Note, ...]
    total_rows: int
    doubtful: frozenset[int] = frozenset()
    continued: frozenset[int] = frozenset()
    """Numbers of rows below which a row states more of the same part: what is said of its body proves nothing."""
    """Rows whose cells may stand in other columns than their own: what they state proves nothing."""
    asked: Mapping[int, Said] = field(default_factory=dict)
    """Rows of which it is open whether they count, and why: struck through, hidden, below a title of a variant."""
    hidden_columns: frozenset[int] = frozenset()
    """Columns that the sheet does not show."""

    def place(self, row: int | None = None) -> Place:
        """Return the place of a row, or of the table."""
        return Place(self.file, row, sheet=self.sheet)

    def title(self, column: int) -> str:
        """Return the title of a column, or its number where it has none."""
        return self.header[column] if column < len(self.header) else f"column {column + 1}"

    def decimal_mark(self, stated: str | None) -> str | None:
        """Return the decimal mark: the one *stated* for all files of the board, unless the cells prove another."""
        return self.decimal or stated

    def left_out(self, reason: Said) -> list[SetAside]:
        """Return every row of data as set aside, for a table that is not read."""
        rows = zip(self.row_numbers, zip(*self.columns, strict=True), strict=True)
        return [
            SetAside(self.place(row), reason, " ".join(filter(None, cells))[:_LONGEST_TEXT], parts_named(cells))
            for row, cells in rows
        ]

    def __len__(self) -> int:
        return len(self.row_numbers)
