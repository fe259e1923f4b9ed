"""HTML tables, which some programs write under a spreadsheet's file name."""

from __future__ import annotations

from html.parser import HTMLParser
from typing import Final

from capcheck.intake.files.grid import Grid

_WIDEST: Final = 500


class _Tables(HTMLParser):
    """Gathers the cells of each table that stands in no other table's cell."""

    def __init__(self, file: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tables: list[Grid] = []
        self._file = file
        self._rows: list[list[str]] = []
        self._numbers: list[int] = []
        self._row: list[str] | None = None
        self._cell: list[str] | None = None
        self._span = 1
        self._depth = 0
        self._skip = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in {"script", "style"}:
            self._skip += 1
        elif tag == "table":
            self._end_row()
            self._depth += 1
            if self._depth == 1:
                self._rows, self._numbers = [], []
        elif tag == "tr" and self._depth:
            self._end_row()
            self._row = []
            self._numbers.append(len(self._numbers) + 1)
        elif tag in {"td", "th"} and self._depth:
            self._end_cell()
            if self._row is None:
                self._row = []
                self._numbers.append(len(self._numbers) + 1)
            self._cell = []
            span = dict(attrs).get("colspan") or "1"
            self._span = min(int(span), _WIDEST) if span.isascii() and span.isdigit() and int(span) else 1
        elif tag == "br" and self._cell is not None:
            self._cell.append("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag in {"script", "style"}:
            self._skip = max(0, self._skip - 1)
        elif tag in {"td", "th"}:
            self._end_cell()
        elif tag == "tr":
            self._end_row()
        elif tag == "table" and self._depth:
            self._end_row()
            self._depth -= 1
            if not self._depth and self._rows:
                self.tables.append(Grid(self._file, self._rows, self._numbers, "HTML"))
                self._rows, self._numbers = [], []

    def handle_data(self, data: str) -> None:
        if self._cell is not None and not self._skip:
            self._cell.append(data)

    def _end_cell(self) -> None:
        if self._cell is not None and self._row is not None:
            lines = (" ".join(line.split()) for line in "".join(self._cell).split("\n"))
            self._row.append("\n".join(lines).strip())
            # A merged cell holds its text once.
            self._row.extend([""] * (self._span - 1))
        self._cell = None

    def _end_row(self) -> None:
        self._end_cell()
        if self._row is not None:
            self._rows.append(self._row)
        self._row = None

    def finish(self) -> None:
        """Close what the file leaves open."""
        self.close()
        self._end_row()
        if self._depth and self._rows:
            self.tables.append(Grid(self._file, self._rows, self._numbers, "HTML"))


def read_html(text: str, file: str) -> list[Grid]:
    """Return the tables of a text in HTML; rows are counted within each table, as a viewer shows them."""
    parser = _Tables(file)
    parser.feed(text)
    parser.finish()
    if len(parser.tables) > 1:
        for number, grid in enumerate(parser.tables, start=1):
            grid.sheet = f"table {number}"
    return parser.tables
