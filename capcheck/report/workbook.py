"""Tables as a workbook for people who live in spreadsheets.

Every text is written as text: a cell that looks like a formula keeps its characters and carries the spreadsheet's own
mark for text, so that it stays one when it is edited.
"""

from __future__ import annotations

import io
import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final, Self

from msgspec import Struct

from capcheck.report.spreadsheet_cells import is_formula_like
from capcheck.values import InputError, cut, visible

if TYPE_CHECKING:
    import xlsxwriter
    from xlsxwriter.worksheet import Worksheet

_MOST_CHARACTERS: Final = 32_000
"""A cell holds 32,767 characters (the limit of the file format, ECMA-376)."""
_LINE_PX: Final = 20
_HIGHEST_PX: Final = 545
"""A row is at most 409.5 pt high (the limit of the file format, ECMA-376); 0.75 pt are a px."""
_FRESH: Final = "1980-01-01T00:00:00"
_FORMATS: Final[dict[str, dict[str, object]]] = {
    "text": {"valign": "top"},
    "quoted": {"valign": "top", "quote_prefix": True},
    "wrapped": {"valign": "top", "text_wrap": True},
    "wrapped quoted": {"valign": "top", "text_wrap": True, "quote_prefix": True},
    "head": {"bold": True, "bottom": 1, "valign": "top", "text_wrap": True},
    "fail": {"valign": "top", "bold": True, "font_color": "#7C2D12", "bg_color": "#F3D9C4"},
    "warn": {"valign": "top", "font_color": "#6B4E00", "bg_color": "#EFE3BD"},
}


class Picture(Struct, frozen=True):
    """A picture in a cell, below the cell's own text: a PNG, its size (px of a screen), and that text."""

    png: bytes
    width: float
    height: float
    text: str


class Workbook:
    """A workbook being written; its bytes are the same for the same cells, whenever it is written."""

    def __init__(self) -> None:
        self._stream = io.BytesIO()
        self._book = _workbook(self._stream)
        self._formats = {name: self._book.add_format(look) for name, look in _FORMATS.items()}
        self.content = b""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._book.close()
        self.content = self._stream.getvalue()

    def sheet(
        self,
        title: str,
        table: Sequence[Sequence[object]],
        widths: Mapping[str, int],
        *,
        marked: str = "",
        hidden: str = "",
        wrap: bool = False,
        pictures: Mapping[tuple[int, int], Picture] | None = None,
    ) -> None:
        """Add a sheet; the headings are the table's first row, which stays in view and can be filtered.

        *widths* are by heading; *marked* is the heading of the column that holds outcomes, *hidden* one for programs.
        *pictures* are by row and column from 0, the headings' row counted; a row is as high as its picture.
        """
        sheet = self._book.add_worksheet(title)
        head, *rows = table
        for column, name in enumerate(map(str, head)):
            sheet.set_column(column, column, widths.get(name, 11), None, {"hidden": name == hidden})
            sheet.write_string(0, column, name, self._formats["head"])
            for row, cells in enumerate(rows, 1):
                self._cell(sheet, row, column, cells[column], wrap=wrap, outcome=name == marked)
        for (row, column), picture in (pictures or {}).items():
            sheet.set_row_pixels(
                row, _height_px([*map(str, table[row])], [widths.get(str(n), 11) for n in head], picture)
            )
            sheet.insert_image(row, column, f"{row}.png", _placed(picture))
        sheet.freeze_panes(1, 0)
        sheet.autofilter(0, 0, max(len(rows), 1), len(head) - 1)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)

    def _cell(self, sheet: Worksheet, row: int, column: int, value: object, *, wrap: bool, outcome: bool) -> None:
        if value is None or value == "":
            return
        if isinstance(value, int | float) and not isinstance(value, bool):
            sheet.write_number(row, column, value, self._formats["text"])
            return
        text = cut(visible(str(value)), _MOST_CHARACTERS)
        look = "wrapped" if wrap else "text"
        if is_formula_like(text):
            look = f"{look} quoted" if wrap else "quoted"
        if outcome and text in _FORMATS:
            look = text
        sheet.write_string(row, column, text, self._formats[look])


def _placed(picture: Picture) -> dict[str, object]:
    """Return how a picture lies: below the text of its cell, going with it when rows are sorted or hidden."""
    return {
        "image_data": io.BytesIO(picture.png),
        "description": picture.text,
        "x_offset": 4,
        "y_offset": _LINE_PX,
        "object_position": 1,
    }


def _height_px(texts: Sequence[str], widths: Sequence[int], picture: Picture) -> int:
    """Return the height of a row that holds a picture: that, or its longest text, as far as a row can be high."""
    lines = max(
        sum(max(1, math.ceil(len(line) / (width - 1))) for line in text.split("\n"))
        for text, width in zip(texts, widths, strict=True)
    )
    return min(max(math.ceil(picture.height) + _LINE_PX + 4, lines * _LINE_PX), _HIGHEST_PX)


def _workbook(stream: io.BytesIO) -> xlsxwriter.Workbook:
    try:
        import xlsxwriter
    except ImportError:
        raise InputError.at(
            "--format xlsx",
            "needs the library XlsxWriter, which is not installed",
            remedy='install it with: pip install "capcheck[xlsx]"',
        ) from None
    from datetime import datetime

    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    book = xlsxwriter.Workbook(stream, options)
    book.set_properties({"created": datetime.fromisoformat(_FRESH)})
    return book
