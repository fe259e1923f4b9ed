"""Tables as a workbook for people who live in spreadsheets.

Every text is written as text: a cell that looks like a formula keeps its characters and carries the spreadsheet's own
mark for text, so that it stays one when it is edited.
"""

from __future__ import annotations

import io
import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Final, Self

from msgspec import Struct

from capcheck.values import InputError, cut, is_formula_like, visible, visible_lines

if TYPE_CHECKING:
    import xlsxwriter
    from xlsxwriter.worksheet import Worksheet

_MOST_CHARACTERS: Final = 32_000
"""A cell holds 32,767 characters (the limit of the file format, ECMA-376)."""
_MANY_ROWS: Final = 20_000
_LINE_PX: Final = 20
_HIGHEST_PX: Final = 545
"""A row is at most 409.5 pt high (the limit of the file format, ECMA-376); 0.75 pt are a px."""
_FRESH: Final = "1980-01-01T00:00:00"
_FORMATS: Final[dict[str, dict[str, object]]] = {
    "text": {"valign": "top"},
    "quoted": {"valign": "top", "quote_prefix": True},
    "wrapped": {"valign": "top", "text_wrap": True},
    "wrapped quoted": {"valign": "top", "text_wrap": True, "quote_prefix": True},
    "asked": {"valign": "top", "text_wrap": True, "border": 2, "border_color": "#B45F06", "bg_color": "#FFF7E6"},
    "fill in": {"valign": "top", "text_wrap": True, "border": 1, "border_color": "#8C8C8C"},
    "heading": {"valign": "top", "text_wrap": True, "bold": True, "bg_color": "#EDEDED"},
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

    def __init__(self, rows: int = 0) -> None:
        """Begin a workbook of so many *rows*; one of very many is kept in files until it is whole, not in memory."""
        self._stream = io.BytesIO()
        self._book = _workbook(self._stream, in_files=rows > _MANY_ROWS)
        self._formats = {name: self._book.add_format(look) for name, look in _FORMATS.items()}
        self._choices: dict[tuple[str, ...], int] = {}
        self._choices_title = "choices"
        self.content = b""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._choices:
            sheet = self._book.add_worksheet(self._choices_title)
            for choices, column in self._choices.items():
                for row, choice in enumerate(choices):
                    self._cell(sheet, row, column, choice, wrap=False, outcome=False)
            sheet.hide()
        self._book.close()
        self.content = self._stream.getvalue()

    def sheet(
        self,
        title: str,
        table: Sequence[Sequence[object]],
        widths: Mapping[str, int],
        *,
        marked: str = "",
        hidden: Collection[str] = (),
        wrap: bool = False,
        looks: Mapping[tuple[int, int], str] | None = None,
        choices: Mapping[tuple[int, int], Sequence[str]] | None = None,
        pictures: Mapping[tuple[int, int], Picture] | None = None,
    ) -> None:
        """Add a sheet; the headings are the table's first row, which stays in view and can be filtered.

        *widths* are by heading; *marked* is the heading of the column that holds outcomes, *hidden* those for programs.
        The rest is by row and column of *table*: *looks* how a cell is drawn that people fill in, *choices* what they
        may choose there, where anything else may be written all the same; a row is as high as its one of *pictures*.
        """
        sheet = self._book.add_worksheet(title)
        head, *rows = table
        for column, name in enumerate(map(str, head)):
            sheet.set_column(column, column, widths.get(name, 11), None, {"hidden": name in hidden})
            sheet.write_string(0, column, name, self._formats["head"])
        for row, cells in enumerate(rows, 1):  # row by row: what lies in files is not gone back to
            for column, heading in enumerate(head):
                look = (looks or {}).get((row, column), "")
                drawn = (pictures or {}).get((row, column))
                value = drawn.text if drawn is not None else cells[column]
                self._cell(sheet, row, column, value, wrap=wrap, outcome=heading == marked, look=look)
        for (row, column), offered in (choices or {}).items():
            self._offer(sheet, row, column, tuple(offered))
        for (row, column), picture in (pictures or {}).items():
            told = zip(table[row], head, strict=True)
            seen = [(str(text), widths.get(str(name), 11)) for text, name in told if name not in hidden]
            sheet.set_row_pixels(row, _height_px(seen, picture))
            sheet.insert_image(row, column, f"{row}.png", _placed(picture))
        sheet.freeze_panes(1, 0)
        sheet.autofilter(0, 0, max(len(rows), 1), len(head) - 1)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)

    def name_choices(self, title: str) -> None:
        """Call the hidden sheet that holds the choices so."""
        self._choices_title = title

    def _offer(self, sheet: Worksheet, row: int, column: int, offered: tuple[str, ...]) -> None:
        """Offer texts in a cell; they stand on a sheet of their own, since a list in the cell may hold no comma."""
        at = self._choices.setdefault(
            tuple(cut(visible(text), _MOST_CHARACTERS) for text in offered), len(self._choices)
        )
        letters = _column_letters(at)
        title = self._choices_title.replace("'", "''")
        source = f"='{title}'!${letters}$1:${letters}${len(offered)}"
        # What is not in the list may be written too: boxes have blanks to fill in.
        sheet.data_validation(
            row, column, row, column, {"validate": "list", "source": source, "show_error": False, "ignore_blank": True}
        )

    def _cell(
        self, sheet: Worksheet, row: int, column: int, value: object, *, wrap: bool, outcome: bool, look: str = ""
    ) -> None:
        if value is None or value == "":
            if look:
                sheet.write_blank(row, column, None, self._formats[look])
            return
        if isinstance(value, int | float) and not isinstance(value, bool):
            sheet.write_number(row, column, value, self._formats["text"])
            return
        text = cut(visible_lines(str(value)) if wrap else visible(str(value)), _MOST_CHARACTERS)
        look = look or ("wrapped" if wrap else "text")
        if is_formula_like(text):
            look = "wrapped quoted" if wrap else "quoted"
        if outcome and text in _FORMATS:
            look = text
        sheet.write_string(row, column, text, self._formats[look])


def _column_letters(column: int) -> str:
    """Return the letters of a column, counted from 0."""
    from xlsxwriter.utility import xl_col_to_name

    return str(xl_col_to_name(column))


def _placed(picture: Picture) -> dict[str, object]:
    """Return how a picture lies: below the text of its cell, going with it when rows are sorted or hidden."""
    return {
        "image_data": io.BytesIO(picture.png),
        "description": picture.text,
        "x_offset": 4,
        "y_offset": _LINE_PX,
        "object_position": 1,
    }


def _height_px(texts: Iterable[tuple[str, int]], picture: Picture) -> int:
    """Return the height of a row: its picture, or the longest of its texts as far as a row can go."""
    lines = max(sum(max(1, math.ceil(len(line) / (width - 1))) for line in text.split("\n")) for text, width in texts)
    return min(max(math.ceil(picture.height) + _LINE_PX + 4, lines * _LINE_PX), _HIGHEST_PX)


def require_xlsx() -> None:
    """Raise :class:`~capcheck.values.InputError` where the library that writes workbooks is missing."""
    try:
        import xlsxwriter  # noqa: F401
    except ImportError:
        raise InputError.at(
            "--format xlsx",
            "needs the library XlsxWriter, which is not installed",
            remedy='install it with: pip install "capcheck[xlsx]"',
        ) from None


def _workbook(stream: io.BytesIO, *, in_files: bool) -> xlsxwriter.Workbook:
    require_xlsx()
    from datetime import datetime

    import xlsxwriter

    options = {"in_memory": not in_files, "constant_memory": in_files}
    options |= dict.fromkeys(("strings_to_formulas", "strings_to_urls", "strings_to_numbers"), False)
    book = xlsxwriter.Workbook(stream, options)
    book.set_properties({"created": datetime.fromisoformat(_FRESH)})
    return book
