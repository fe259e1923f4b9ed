"""How the cells of an XLSB are shown, and what is said on them: its parts hold records and no XML.

Records by their numbers in [MS-XLSB] 2.3; texts are counted characters of two bytes.
"""

from __future__ import annotations

import posixpath
import struct
import zipfile
from typing import TYPE_CHECKING, Final

from capcheck.intake.files.cell_forms import CellForms, Style
from capcheck.intake.files.number_format import adds_text
from capcheck.intake.files.said_on_cells import NO_COLOURS, SaidOnCells, add_drawn, related_parts, relations

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

_ROW, _FONT, _FMT, _FILL, _XF, _COLUMN = 0, 43, 44, 45, 47, 60
_SHEET, _XFS, _XFS_END, _COMMENT, _COMMENT_TEXT = 156, 617, 618, 635, 637
_CELLS: Final = range(1, 12)
_STRUCK: Final = 0x08
_NO_HEIGHT: Final = 0x10
_SOLID: Final = 1
_AUTOMATIC: Final = frozenset({0, 8, 9, 64, 65, 81})
_UNWRITTEN: Final = {1: "0", 3: "#,##0", 9: "0%", 10: "0.00%"}
_WIDEST: Final = 1000
_MOST: Final = 200_000


def forms_in_xlsb(archive: zipfile.ZipFile) -> Mapping[str, CellForms]:
    """Return the forms of the cells of each sheet, by its name.

    Raises ``struct.error``, ``IndexError`` or ``KeyError`` where a part is not what it says.
    """
    names = set(archive.namelist())
    targets = relations(archive, "xl/workbook.bin")
    styles = _styles(archive.read("xl/styles.bin")) if "xl/styles.bin" in names else []
    found = {}
    for kind, body in _records(archive.read("xl/workbook.bin")):
        if kind == _SHEET:
            relation, behind = _text(body, 8)
            name, _ = _text(body, behind)
            part = targets.get(relation, "")
            if part in names:
                found[name] = _sheet(archive.read(part), styles)
                found[name].said = _said(archive, part, found[name].said)
    return found


def _records(part: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield number and content of each record; both counts are written in groups of seven bits."""
    at = 0
    while at < len(part):
        kind = part[at]
        at += 1
        if kind & 0x80:
            kind = (kind & 0x7F) | (part[at] & 0x7F) << 7
            at += 1
        size = 0
        for group in range(4):
            byte = part[at]
            at += 1
            size |= (byte & 0x7F) << 7 * group
            if not byte & 0x80:
                break
        yield kind, part[at : at + size]
        at += size


def _text(body: bytes, at: int) -> tuple[str, int]:
    """Return the counted text at a place, and the place behind it."""
    (count,) = struct.unpack_from("<I", body, at)
    end = at + 4 + (0 if count == 0xFFFFFFFF else 2 * count)
    return body[at + 4 : end].decode("utf-16-le", errors="replace"), end


def _styles(part: bytes) -> list[Style]:
    """Return of each style of cells whether it strikes through, its colour, and a format that adds text."""
    formats, fonts, fills, found = dict(_UNWRITTEN), [], [], []
    of_cells = False
    for kind, body in _records(part):
        if kind == _FMT:
            formats[struct.unpack_from("<H", body)[0]] = _text(body, 2)[0]
        elif kind == _FONT:
            height_flags = struct.unpack_from("<HHHHB", body)
            fonts.append((bool(height_flags[1] & _STRUCK), "" if height_flags[4] else _colour(body[12:20])))
        elif kind == _FILL:
            fills.append(_colour(body[4:12]) if struct.unpack_from("<I", body)[0] == _SOLID else "")
        elif kind in {_XFS, _XFS_END}:
            of_cells = kind == _XFS
        elif kind == _XF and of_cells:
            _, format_, font, fill = struct.unpack_from("<HHHH", body)
            struck, colour = fonts[font] if font < len(fonts) else (False, "")
            both = " / ".join(filter(None, (fills[fill] if fill < len(fills) else "", colour)))
            code = formats.get(format_, "")
            found.append((struck, both, code if adds_text(code) else ""))
    return found


def _colour(body: bytes) -> str:
    """Return a colour as a name of its own; blank for black, white and what the program chooses."""
    kind, index = body[0] >> 1, body[1]
    shade = struct.unpack_from("<h", body, 2)[0]
    if kind == 3:
        colour = f"theme {index}"
        return "" if colour in NO_COLOURS and not shade else f"{colour} {shade}"
    if kind == 1:
        return "" if index in _AUTOMATIC else str(index)
    colour = body[4:7].hex().upper()
    return colour if kind == 2 and colour not in NO_COLOURS else ""


def _sheet(part: bytes, styles: list[Style]) -> CellForms:
    found = CellForms()
    row, seen = -1, 0
    for kind, body in _records(part):
        if kind == _ROW:
            (row,) = struct.unpack_from("<I", body)
            if body[11] & _NO_HEIGHT:
                found.hidden_rows.add(row)
        elif kind in _CELLS and seen < _MOST:
            seen += 1
            column, style = struct.unpack_from("<II", body)
            style &= 0xFFFFFF
            if style < len(styles):
                found.take((row, column), styles[style])
        elif kind == _COLUMN:
            first, last, width, _, flags = struct.unpack_from("<IIIIH", body)
            if flags & 1 or not width:
                found.hidden_columns.update(range(first, min(last + 1, _WIDEST)))
    return found


def _said(archive: zipfile.ZipFile, part: str, said: SaidOnCells) -> SaidOnCells:
    """Return what is said on the cells of a sheet with its comments and text boxes; drawings are XML here too."""
    for path, content in related_parts(archive, part):
        if posixpath.splitext(path)[1] != ".bin":
            add_drawn(said, content)
            continue
        row = -1
        for kind, body in _records(content):
            if kind == _COMMENT:
                row = struct.unpack_from("<II", body)[1]
            elif kind == _COMMENT_TEXT and row >= 0:
                said.comment(row, _text(body, 1)[0])
    return said
