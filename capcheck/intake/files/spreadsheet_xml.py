"""Spreadsheets written as one XML text (the 2003 form), which mostly carry an .xls name.

Read by the standard library's expat as it goes along. A document type, by which entities could multiply a small file
into gigabytes, has no place in such a file and is refused.
"""

from __future__ import annotations

from typing import Final
from xml.parsers import expat

from msgspec import Struct

from capcheck.intake.files.cell_forms import CellForms
from capcheck.intake.files.grid import Grid, without_blank_runs
from capcheck.intake.files.number_format import adds_text, as_displayed
from capcheck.intake.files.spreadsheet import cell_text
from capcheck.model import say
from capcheck.values import InputError, Place

_WIDEST: Final = 16_384
"""Columns of the widest sheet that a spreadsheet program makes."""
_MOST_CELLS: Final = 8_000_000


class _Style(Struct):
    """What a style says of its cells: struck through, and a format that adds text to numbers."""

    struck: bool = False
    code: str = ""


_PLAIN: Final = _Style()


class _Sheets:
    """Gathers the rows of each sheet from expat's events; cells without text count by their place."""

    def __init__(self, file: str) -> None:
        self.sheets: list[tuple[str, list[list[str]], list[int]]] = []
        self._file = file
        self._row: list[str] = []
        self._number = 0
        self._further = 0
        self._cells = 0
        self._merged = 0
        self._text: list[str] | None = None
        self._kind = ""
        self._in_comment = False
        self._styles: dict[str, _Style] = {}
        self._style = ""
        self._shown = _PLAIN
        self._at_column = 0
        self.forms: list[CellForms] = []
        self.hidden: set[str] = set()

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take the beginning of an element; attributes carry their namespace."""
        element = name.rpartition(" ")[2]
        given = {key.rpartition(" ")[2]: value for key, value in attributes.items()}
        if element in {"Style", "Font", "NumberFormat"}:
            self._take_style(element, given)
        elif element == "Worksheet":
            self.sheets.append((given.get("Name", ""), [], []))
            self.forms.append(CellForms())
            self._number = self._further = self._at_column = 0
        elif element == "Column" and self.forms:
            self._at_column = _place(given.get("Index"), self._at_column + 1)
            last = min(self._at_column + _place(given.get("Span"), 0), _WIDEST)
            if given.get("Hidden") == "1" or given.get("Width") == "0":
                self.forms[-1].hidden_columns.update(range(self._at_column - 1, last))
            self._at_column = last
        elif element == "Row" and self.sheets:
            self._number = _place(given.get("Index"), self._number + self._further + 1)
            self._further = _place(given.get("Span"), 0)
            self._row = []
            if given.get("Hidden") == "1" or given.get("Height") == "0":
                first = self._number - 1
                self.forms[-1].hidden_rows.update(range(first, first + min(self._further, _WIDEST) + 1))
        elif element == "Cell":
            self._pad(_place(given.get("Index"), len(self._row) + 1) - 1)
            self._merged = _place(given.get("MergeAcross"), 0)
            self._row.append("")
            self._shown = self._styles.get(given.get("StyleID", ""), _PLAIN)
        elif element in {"S", "Strike", "Del"} and self._text is not None:
            self._mark_struck()
        elif element == "Comment":
            self._in_comment, self._text = True, []
        elif element == "Visible":
            self._text = []
        elif element == "Data" and self._row and not self._in_comment:
            self._text, self._kind = [], given.get("Type", "String")

    def text(self, text: str) -> None:
        """Take a piece of text."""
        if self._text is not None:
            self._text.append(text)

    def end(self, name: str) -> None:
        """Take the end of an element."""
        element = name.rpartition(" ")[2]
        if element == "Data" and self._text is not None and not self._in_comment:
            text = _meant("".join(self._text), self._kind)
            if self._kind == "Number" and self._shown.code and text.replace(".", "").lstrip("-").isdecimal():
                text = as_displayed(float(text), text, self._shown.code)
            self._row[-1] = text
            if self._shown.struck:
                self._mark_struck()
            self._text = None
        elif element == "Comment":
            if self.forms:
                self.forms[-1].said.comment(self._number - 1, "".join(self._text or ()))
            self._in_comment, self._text = False, None
        elif element == "Visible" and self._text is not None:
            if "".join(self._text).strip() != "SheetVisible" and self.sheets:
                self.hidden.add(self.sheets[-1][0])
            self._text = None
        elif element == "Cell" and self._row:
            self._pad(len(self._row) + self._merged)
        elif element == "Row" and self.sheets:
            _, rows, numbers = self.sheets[-1]
            rows.append(self._row)
            numbers.append(self._number)
            self._row = []

    def _take_style(self, element: str, given: dict[str, str]) -> None:
        if element == "Style":
            self._style = given.get("ID", "")
            inherited = self._styles.get(given.get("Parent", ""), _PLAIN)
            self._styles[self._style] = _Style(inherited.struck, inherited.code)
        elif self._style in self._styles and element == "Font":
            self._styles[self._style].struck = given.get("StrikeThrough") == "1"
        elif self._style in self._styles:
            code = given.get("Format", "")
            self._styles[self._style].code = code if adds_text(code) else ""

    def _mark_struck(self) -> None:
        if self.forms:
            self.forms[-1].struck.add((self._number - 1, len(self._row) - 1))

    def doctype(self, *_: object) -> None:
        """Refuse a document type."""
        raise InputError.at(
            self._file,
            "the spreadsheet declares a document type",
            "its entities could grow without limit",
            "open it in a spreadsheet program and save it as XLSX or CSV",
        )

    def _pad(self, width: int) -> None:
        more = width - len(self._row)
        self._cells += max(more, 0) + 1
        if width > _WIDEST or self._cells > _MOST_CELLS:
            raise InputError.at(
                self._file,
                f"the spreadsheet has a row of {width} cells, or more than {_MOST_CELLS} in all",
                "a list of parts has a few dozen columns",
                "delete what lies beside the table and save it again",
            )
        self._row += [""] * more


def _place(text: str | None, otherwise: int) -> int:
    return int(text) if text is not None and text.isdecimal() and len(text) < 8 else otherwise


def _meant(text: str, kind: str) -> str:
    """Return a cell as the text that was meant: a number in full, a date without the time's fraction."""
    if kind == "Number":
        try:
            return cell_text(float(text))
        except ValueError:
            return text
    if kind == "Boolean":
        return "TRUE" if text.strip() == "1" else "FALSE"
    return text.replace("T", " ").removesuffix(".000") if kind == "DateTime" else text


def read_spreadsheet_xml(text: str, file: str) -> list[Grid]:
    """Return each sheet that holds cells; rows keep the sheet's own numbers.

    Raises :class:`InputError` where the text is no well-formed XML, declares a document type, or would grow too large.
    """
    sheets = _Sheets(file)
    parser = expat.ParserCreate(encoding="utf-8", namespace_separator=" ")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = sheets.doctype
    parser.StartElementHandler, parser.EndElementHandler = sheets.start, sheets.end
    parser.CharacterDataHandler = sheets.text
    try:
        parser.Parse(text.encode("utf-8", errors="replace"), True)
    except expat.ExpatError as error:
        raise InputError.at(
            Place(file, error.lineno),
            f"the spreadsheet is no well-formed XML: {expat.ErrorString(error.code)}",
            "its cells cannot be told",
            "open it in a spreadsheet program and save it as XLSX or CSV",
        ) from None
    grids = []
    for (name, rows, numbers), forms in zip(sheets.sheets, sheets.forms, strict=True):
        if any(map(any, rows)):
            grids.append(grid := without_blank_runs(rows, numbers, "spreadsheet", file))
            forms.tell(grid)
            if name in sheets.hidden:
                grid.asked = {number: say("files.hidden sheet", sheet=name) for number in grid.numbers}
            grid.sheet = name or None
    return grids
