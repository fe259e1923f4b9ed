"""How the cells of an XLS are shown, and what is said on them: comments, text boxes, colours, rows struck through."""

from __future__ import annotations

import io
import struct
from typing import TYPE_CHECKING, Final

from capcheck.intake.files.cell_forms import CellForms, Style
from capcheck.intake.files.number_format import adds_text
from capcheck.intake.files.said_on_cells import NO_COLOURS, one_line

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from xlrd.book import Book
    from xlrd.formatting import XF
    from xlrd.sheet import Sheet

_BOF, _EOF, _CONTINUE, _TEXT_OBJECT, _HEADER, _FOOTER = 0x809, 0x0A, 0x3C, 0x1B6, 0x14, 0x15
"""Records by their numbers in [MS-XLS] 2.3.2."""
_WORKSHEET: Final = 0x10
_STREAMS: Final = ("Workbook", "Book")


def forms_in_xls(data: bytes) -> Mapping[str, CellForms]:
    """Return the forms of the cells of each sheet, by its name.

    Raises whatever the library raises on a file that it cannot read, as one of a version that knows no forms.
    """
    import xlrd

    book = xlrd.open_workbook(file_contents=data, formatting_info=True, logfile=io.StringIO())
    styles = [_style(book, style) for style in book.xf_list]
    struck_fonts = {i for i, font in enumerate(book.font_list) if font.struck_out}
    found = {sheet.name: _of_sheet(sheet, styles, struck_fonts) for sheet in book.sheets()}
    worksheets = [sheet.name for sheet in book.sheets()]
    for i, is_object, text in _beside_cells(data):
        if not 0 <= i < len(worksheets):
            continue
        said, told = found[worksheets[i]].said, one_line(text)
        if not is_object:
            said.over_the_page(text)
        elif told and not any(told in texts for texts in said.comments.values()):
            said.beside.append((None, told))
    return found


def _of_sheet(sheet: Sheet, styles: list[Style], struck_fonts: set[int]) -> CellForms:
    found = CellForms()
    for row in range(sheet.nrows):
        for column in range(sheet.row_len(row)):
            found.take((row, column), styles[sheet.cell_xf_index(row, column)])
    for at, runs in sheet.rich_text_runlist_map.items():
        if any(font in struck_fonts for _, font in runs):
            found.struck.add(at)
    found.hidden_rows = {row for row, told in sheet.rowinfo_map.items() if told.hidden or told.height == 0}
    found.hidden_columns = {column for column, told in sheet.colinfo_map.items() if told.hidden or told.width == 0}
    for (row, _), note in sheet.cell_note_map.items():
        found.said.comment(row, note.text)
    return found


def _style(book: Book, style: XF) -> Style:
    """Return of a style whether it strikes through, its colour, and its format where that adds text to a number."""
    font = book.font_list[style.font_index]
    fill = style.background
    colours = [
        "" if font.underlined else _colour(book, font.colour_index),
        _colour(book, fill.pattern_colour_index) if fill.fill_pattern == 1 else "",
    ]
    format_ = book.format_map.get(style.format_key)
    code = format_.format_str if format_ is not None else ""
    return bool(font.struck_out), " / ".join(filter(None, colours[::-1])), code if adds_text(code) else ""


def _colour(book: Book, index: int) -> str:
    """Return a colour of the palette as its six digits; blank for black, white and what the program chooses."""
    shade = book.colour_map.get(index)
    colour = "" if shade is None else "".join(f"{part:02X}" for part in shade)
    return "" if colour in NO_COLOURS else colour


def _beside_cells(data: bytes) -> Iterator[tuple[int, bool, str]]:
    """Yield texts with the number of their worksheet from 0, and whether they are an object's or over the page."""
    from xlrd.compdoc import CompDoc

    document = CompDoc(data, logfile=io.StringIO())
    stream: bytes = next(filter(None, map(document.get_named_stream, _STREAMS)), b"")
    sheet, at, object_length = -1, 0, 0
    while at + 4 <= len(stream):
        kind, size = struct.unpack_from("<HH", stream, at)
        body = stream[at + 4 : at + 4 + size]
        at += 4 + size
        if kind == _BOF and len(body) >= 4 and struct.unpack_from("<H", body, 2)[0] == _WORKSHEET:
            sheet += 1
        elif kind == _TEXT_OBJECT and len(body) >= 12:
            object_length = struct.unpack_from("<H", body, 10)[0]
        elif kind == _CONTINUE and object_length and body:
            yield sheet, True, _characters(body, object_length)
            object_length = 0
        elif kind in {_HEADER, _FOOTER} and len(body) > 3:
            yield sheet, False, _characters(body[2:], struct.unpack_from("<H", body)[0])


def _characters(body: bytes, count: int) -> str:
    """Return the characters behind a byte that says whether each takes one byte or two."""
    if body[0] & 1:
        return body[1 : 1 + 2 * count].decode("utf-16-le", errors="replace")
    return body[1 : 1 + count].decode("latin-1")
