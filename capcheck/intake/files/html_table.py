"""HTML tables, which some programs write under a spreadsheet's file name."""

from __future__ import annotations

from html.parser import HTMLParser
from typing import Final

from capcheck.intake.files.grid import Grid
from capcheck.intake.files.said_on_cells import SaidOnCells, one_line
from capcheck.model import Said, say

_WIDEST: Final = 500
_STRUCK: Final = frozenset({"s", "strike", "del"})


class _Tables(HTMLParser):
    """Gathers the cells of each table that stands in no other table's cell."""

    def __init__(self, file: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tables: list[Grid] = []
        self.beside: list[str] = []
        """What stands outside all tables."""
        self._file = file
        self._rows: list[list[str]] = []
        self._numbers: list[int] = []
        self._row: list[str] | None = None
        self._cell: list[str] | None = None
        self._span = 1
        self._depth = 0
        self._skip = 0
        self._struck = 0
        self._asked: dict[int, Said] = {}
        self._said = SaidOnCells()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in {"script", "style"}:
            self._skip += 1
        elif tag in _STRUCK:
            self._struck += 1
        elif tag == "table":
            self._end_row()
            self._depth += 1
            if self._depth == 1:
                self._rows, self._numbers, self._asked, self._said = [], [], {}, SaidOnCells()
        elif tag == "tr" and self._depth:
            self._end_row()
            self._row = []
            self._numbers.append(len(self._numbers) + 1)
            self._look(attrs)
        elif tag in {"td", "th"} and self._depth:
            self._end_cell()
            if self._row is None:
                self._row = []
                self._numbers.append(len(self._numbers) + 1)
            self._cell = []
            span = dict(attrs).get("colspan") or "1"
            self._span = min(int(span), _WIDEST) if span.isascii() and span.isdigit() and int(span) else 1
            self._look(attrs)
        elif tag == "br" and self._cell is not None:
            self._cell.append("\n")
        elif self._cell is not None:
            self._look(attrs)

    def handle_endtag(self, tag: str) -> None:
        if tag in {"script", "style"}:
            self._skip = max(0, self._skip - 1)
        elif tag in _STRUCK:
            self._struck = max(0, self._struck - 1)
        elif tag in {"td", "th"}:
            self._end_cell()
        elif tag == "tr":
            self._end_row()
        elif tag == "table" and self._depth:
            self._end_row()
            self._depth -= 1
            if not self._depth and self._rows:
                self._add_table()

    def handle_data(self, data: str) -> None:
        if self._cell is not None and not self._skip:
            self._cell.append(data)
            if self._struck and data.strip():
                self._asked[self._numbers[-1]] = say("files.struck through", text=data.strip()[:80])
        elif not self._skip and not self._depth and (text := one_line(data)):
            self.beside.append(text)

    def _look(self, attrs: list[tuple[str, str | None]]) -> None:
        """Keep what the style of an element says of its row: struck through, or not shown."""
        given = dict(attrs)
        if colour := (given.get("bgcolor") or "").strip().lstrip("#"):
            self._said.colours.setdefault(colour, set()).add(self._numbers[-1] - 1)
        if title := one_line(given.get("title") or ""):
            self._said.comment(self._numbers[-1] - 1, title)
        style = "".join((given.get("style") or "").lower().split())
        if "line-through" in style:
            self._asked.setdefault(self._numbers[-1], say("files.row struck through"))
        elif "hidden" in given or "display:none" in style or "visibility:hidden" in style:
            self._asked.setdefault(self._numbers[-1], say("files.hidden row"))

    def _add_table(self) -> None:
        self.tables.append(grid := Grid(self._file, self._rows, self._numbers, "HTML", asked=self._asked))
        self._said.tell(grid)
        self._rows, self._numbers, self._asked, self._said = [], [], {}, SaidOnCells()

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
            self._add_table()


def read_html(text: str, file: str) -> list[Grid]:
    """Return the tables of a text in HTML; rows are counted within each table, as a viewer shows them."""
    parser = _Tables(file)
    parser.feed(text)
    parser.finish()
    if parser.tables:
        SaidOnCells(beside=[(None, text) for text in parser.beside]).tell(parser.tables[0])
    if len(parser.tables) > 1:
        for number, grid in enumerate(parser.tables, start=1):
            grid.sheet = f"table {number}"
    return parser.tables
