"""Spreadsheets written as one XML text (the 2003 form), which mostly carry an .xls name.

Read by the standard library's expat as it goes along. A document type, by which entities could multiply a small file
into gigabytes, has no place in such a file and is refused.
"""

from __future__ import annotations

from typing import Final
from xml.parsers import expat

from capcheck.intake.files.grid import Grid, without_blank_runs
from capcheck.intake.files.spreadsheet import cell_text
from capcheck.values import InputError, Place

_WIDEST: Final = 16_384
"""Columns of the widest sheet that a spreadsheet program makes."""
_MOST_CELLS: Final = 8_000_000


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

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take the beginning of an element; attributes carry their namespace."""
        element = name.rpartition(" ")[2]
        given = {key.rpartition(" ")[2]: value for key, value in attributes.items()}
        if element == "Worksheet":
            self.sheets.append((given.get("Name", ""), [], []))
            self._number = self._further = 0
        elif element == "Row" and self.sheets:
            self._number = _place(given.get("Index"), self._number + self._further + 1)
            self._further = _place(given.get("Span"), 0)
            self._row = []
        elif element == "Cell":
            self._pad(_place(given.get("Index"), len(self._row) + 1) - 1)
            self._merged = _place(given.get("MergeAcross"), 0)
            self._row.append("")
        elif element == "Comment":
            self._in_comment = True
        elif element == "Data" and self._row and not self._in_comment:
            self._text, self._kind = [], given.get("Type", "String")

    def text(self, text: str) -> None:
        """Take a piece of text."""
        if self._text is not None:
            self._text.append(text)

    def end(self, name: str) -> None:
        """Take the end of an element."""
        element = name.rpartition(" ")[2]
        if element == "Data" and self._text is not None:
            self._row[-1] = _meant("".join(self._text), self._kind)
            self._text = None
        elif element == "Comment":
            self._in_comment = False
        elif element == "Cell" and self._row:
            self._pad(len(self._row) + self._merged)
        elif element == "Row" and self.sheets:
            _, rows, numbers = self.sheets[-1]
            rows.append(self._row)
            numbers.append(self._number)
            self._row = []

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
    for name, rows, numbers in sheets.sheets:
        if any(map(any, rows)):
            grids.append(grid := without_blank_runs(rows, numbers, "spreadsheet", file))
            grid.sheet = name or None
    return grids
