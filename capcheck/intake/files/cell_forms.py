"""How the cells of a workbook are shown, as far as it says something of them: formats, struck through, hidden."""

from __future__ import annotations

import html
import io
import re
import zipfile
from collections.abc import Container, Iterator, Mapping, Sequence
from typing import Final

from msgspec import Struct, field

from capcheck.intake.files.grid import Grid
from capcheck.intake.files.number_format import adds_text, as_displayed, like_shown
from capcheck.intake.files.said_on_cells import SaidOnCells, coloured_styles, ods_colours, said_on_sheet
from capcheck.model import say
from capcheck.values import pattern

_RELATION: Final = pattern(r"<(?:\w{1,20}:)?Relationship ([^<>]*)>")
_SHEET_TAG: Final = pattern(r"<(?:\w{1,20}:)?sheet ([^<>]*)>")
_ATTRIBUTE: Final = pattern(r"(\w{1,40})=\"([^\"]{0,300})\"")
_AT: Final = pattern(rb"\br=\"([A-Z]{1,3})(\d{1,7})\"")
_ROW_AT: Final = pattern(rb"\br=\"(\d{1,7})\"")
_FONT: Final = pattern(rb"<(?:\w{1,9}:)?font(?=[\s/>])")
_STRIKE: Final = pattern(rb"<(?:\w{1,9}:)?strike(?:\s*/?>|\s+val=\"(?:1|true|on)\")")
_FORMAT: Final = pattern(rb"<(?:\w{1,9}:)?numFmt ([^<>]*)>")
_STYLE: Final = pattern(rb"<(?:\w{1,9}:)?xf ([^<>]*)>")
_HIDDEN_ROW: Final = pattern(rb"<(?:\w{1,9}:)?row ([^<>]{0,400}?\b(?:hidden=\"(?:1|true)\"|ht=\"0\")[^<>]{0,400})>")
_HIDDEN_COLUMN: Final = pattern(
    rb"<(?:\w{1,9}:)?col ([^<>]{0,400}?\b(?:hidden=\"(?:1|true)\"|width=\"0\")[^<>]{0,400})>"
)
_SHARED: Final = pattern(rb"<(?:\w{1,9}:)?c ([^<>]{0,200}?\bt=\"s\"[^<>]{0,200})><(?:\w{1,9}:)?v>(\d{1,9})</")
_UNWRITTEN: Final = {"1": "0", "3": "#,##0", "9": "0%", "10": "0.00%"}
"""Formats of whole numbers and percents, which are known by number and stand in no file (ECMA-376, part 1, 18.8.30)."""
_WIDEST: Final = 1000
_MOST: Final = 200_000
"""Cells of one sheet whose form is looked at; what lies beyond them counts as they are stored."""

_ODS_TAG: Final = pattern(
    rb"<table:(?P<what>table|table-row|table-column|table-cell|covered-table-cell)(?P<told>(?:\s[^<>]*)?)>"
)
_ODS_STRUCK: Final = pattern(rb"text-line-through-(?:style=\"(?!none)|type=\"(?!none))")
_ODS_NAME: Final = pattern(rb"style:name=\"([^\"]{1,200})\"")
_ODS_TOLD: Final = pattern(rb"([\w-]{1,40})=\"([^\"]{0,300})\"")
_TAG: Final = pattern(rb"<[^<>]*>")


Style = tuple[bool, str, str]
"""Whether a cell is struck through, its colour, and its format where that adds text to a number."""


class CellForms(Struct):
    """The cells of one sheet that are shown in a form which says something; rows and columns count from 0."""

    formats: dict[tuple[int, int], str] = field(default_factory=dict)
    """Formats that add text to a number or scale it."""
    shown: dict[tuple[int, int], str] = field(default_factory=dict)
    """Numbers as they are shown, where the file states that and not the format."""
    struck: set[tuple[int, int]] = field(default_factory=set)
    tall: dict[tuple[int, int], int] = field(default_factory=dict)
    """The last rows of cells that an ODS merges over several, by their first row and column."""
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    said: SaidOnCells = field(default_factory=SaidOnCells)

    def take(self, at: tuple[int, int], style: Style) -> None:
        """Take the style of a cell."""
        struck, colour, code = style
        if struck:
            self.struck.add(at)
        if colour:
            self.said.colours.setdefault(colour, set()).add(at[0])
        if code:
            self.formats[at] = code

    def text(self, at: tuple[int, int], value: float, text: str) -> str:
        """Return a number's cell as it is shown, in full."""
        if at in self.formats:
            return as_displayed(value, text, self.formats[at])
        return like_shown(text, self.shown[at]) if at in self.shown else text

    def tell(self, grid: Grid, explained: Container[str] = ()) -> None:
        """Tell of rows that are struck through or hidden, and of columns that are hidden, for the rows of *grid*.

        *explained* are the colours of which another sheet says what they mean.
        """
        struck: dict[int, list[int]] = {}
        for row, column in self.struck:
            struck.setdefault(row, []).append(column)
        for number, cells in zip(grid.numbers, grid.rows, strict=True):
            texts = [cells[c] for c in sorted(struck.get(number - 1, ())) if c < len(cells) and cells[c]]
            if texts:
                grid.asked[number] = say("files.struck through", text=", ".join(texts)[:80])
            elif number - 1 in self.hidden_rows and any(cells):
                grid.asked[number] = say("files.hidden row")
        grid.hidden_columns |= self.hidden_columns
        self.said.tell(grid, explained)


def sheet_parts(archive: zipfile.ZipFile) -> dict[str, str]:
    """Return the part of the archive that each sheet of an XLSX stands in."""
    names = set(archive.namelist())
    if not {"xl/workbook.xml", "xl/_rels/workbook.xml.rels"} <= names:
        return {}
    targets = {}
    for tag in _RELATION.findall(archive.read("xl/_rels/workbook.xml.rels").decode(errors="replace")):
        told = dict(_ATTRIBUTE.findall(tag))
        targets[told.get("Id", "")] = "xl/" + told.get("Target", "").removeprefix("/xl/")
    found = {}
    for tag in _SHEET_TAG.findall(archive.read("xl/workbook.xml").decode(errors="replace")):
        told = dict(_ATTRIBUTE.findall(tag))
        part = targets.get(told.get("id", ""), "")
        if part in names:
            found[html.unescape(told.get("name", ""))] = part
    return found


def column_number(letters: bytes) -> int:
    """Return the number of a column, from 1, by its letters."""
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def forms_of_cells(data: bytes) -> Mapping[str, CellForms]:
    """Return the forms of the cells of each sheet, by its name; only of XLSX and ODS, as other forms hide theirs."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        names = set(archive.namelist())
        if "content.xml" in names:
            styles = archive.read("styles.xml") if "styles.xml" in names else b""
            return dict(_ods_forms(archive.read("content.xml"), styles))
        parts = sheet_parts(archive)
        if not parts:
            return {}
        styles = archive.read("xl/styles.xml") if "xl/styles.xml" in names else b""
        struck, formats = _styles(styles)
        coloured = coloured_styles(*(_element(styles, part) for part in (b"fonts", b"fills", b"cellXfs")))
        texts = archive.read("xl/sharedStrings.xml") if "xl/sharedStrings.xml" in names else b""
        found = {}
        for name, part in parts.items():
            found[name] = _sheet_forms(archive.read(part), struck, formats, _struck_texts(texts))
            found[name].said = said_on_sheet(archive, part, coloured)
        return found


def _struck_texts(shared: bytes) -> set[int]:
    if b"strike" not in shared:
        return set()
    return {i for i, text in enumerate(re.split(rb"<(?:\w{1,9}:)?si\b", shared)[1:]) if _STRIKE.search(text)}


def _styles(styles: bytes) -> tuple[set[int], dict[int, str]]:
    """Return the numbers of the styles whose font is struck through, and the formats of those that add text."""
    told = [dict(_ATTRIBUTE.findall(tag.decode(errors="replace"))) for tag in _FORMAT.findall(styles)]
    codes = _UNWRITTEN | {t.get("numFmtId", ""): html.unescape(t.get("formatCode", "")) for t in told}
    codes = {key: code for key, code in codes.items() if adds_text(code)}
    fonts = _element(styles, b"fonts")
    of_fonts = _FONT.split(fonts)[1:] if _STRIKE.search(fonts) else []
    struck = {str(i) for i, font in enumerate(of_fonts) if _STRIKE.search(font)}
    cells = _element(styles, b"cellXfs")
    if not cells or not (codes or struck):
        return set(), {}
    given = [dict(_ATTRIBUTE.findall(tag.decode(errors="replace"))) for tag in _STYLE.findall(cells)]
    return (
        {i for i, told in enumerate(given) if told.get("fontId") in struck},
        {i: codes[key] for i, told in enumerate(given) if (key := told.get("numFmtId")) in codes},
    )


def _element(text: bytes, name: bytes) -> bytes:
    """Return what the first element of this name holds, whatever its prefix; nothing where it has no end.

    By a search for each end: one pattern over both would look from every beginning to the end of the file.
    """
    begins = re.search(rb"<(?:\w{1,9}:)?" + name + rb"\b", text)
    ends = re.compile(rb"</(?:\w{1,9}:)?" + name + rb">").search(text, begins.end()) if begins else None
    return text[begins.end() : ends.start()] if begins and ends else b""


def _pieces(text: bytes, begins: bytes, ends: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Yield attributes and content of each element that begins and *ends* so; the next one ends what has no end."""
    for piece in text.split(begins)[1:]:
        told, _, body = piece.partition(b">")
        yield told, body.partition(ends)[0]


def _sheet_forms(sheet: bytes, struck: set[int], formats: Mapping[int, str], texts: set[int]) -> CellForms:
    found = CellForms()
    if struck or formats:
        numbers = b"|".join(str(n).encode() for n in sorted({*struck, *formats}))
        cell = re.compile(rb"<(?:\w{1,9}:)?c ([^<>]{0,200}?\bs=\"(" + numbers + rb")\"[^<>]{0,200})>")
        for match in _few(cell, sheet):
            if (at := _place(match[1])) is not None:
                style = int(match[2])
                if style in struck:
                    found.struck.add(at)
                if style in formats:
                    found.formats[at] = formats[style]
    found.struck |= _struck_in_part(sheet, texts)
    _add_hidden(found, sheet)
    return found


def _struck_in_part(sheet: bytes, texts: set[int]) -> set[tuple[int, int]]:
    """Return the cells of whose text a part is struck through; *texts* are the shared texts with such a part."""
    tags = [match[1] for match in _few(_SHARED, sheet) if int(match[2]) in texts] if texts else []
    if b"strike" in sheet:
        pieces = (piece for piece in sheet.split(b"</c>") if _STRIKE.search(piece))
        tags += [piece[max(0, piece.rfind(b"<c ")) :] for piece in pieces]
    return {at for at in map(_place, tags) if at is not None}


def _add_hidden(found: CellForms, sheet: bytes) -> None:
    for tag in _HIDDEN_ROW.findall(sheet):
        if row := _ROW_AT.search(tag):
            found.hidden_rows.add(int(row[1]) - 1)
    for tag in _HIDDEN_COLUMN.findall(sheet):
        told = dict(_ATTRIBUTE.findall(tag.decode(errors="replace")))
        first, last = told.get("min", ""), told.get("max", "")
        if first.isdecimal() and last.isdecimal():
            found.hidden_columns.update(range(int(first) - 1, min(int(last), _WIDEST)))


def _few(way: re.Pattern[bytes], sheet: bytes) -> Iterator[re.Match[bytes]]:
    return (match for match, _ in zip(way.finditer(sheet), range(_MOST), strict=False))


def _place(told: bytes) -> tuple[int, int] | None:
    at = _AT.search(told)
    return None if at is None else (int(at[2]) - 1, column_number(at[1]) - 1)


def _ods_forms(content: bytes, styles: bytes) -> Iterator[tuple[str, CellForms]]:
    struck, coloured = _ods_struck(styles + content), ods_colours(styles + content)
    sheets = content.split(b"<table:table ")[1:]
    for sheet in sheets:
        name = dict(_told(sheet.partition(b">")[0])).get("name", "")
        forms = _ods_sheet(sheet, struck, coloured)
        forms.said.add_ods_boxes(sheet)
        yield html.unescape(name), forms


def _told(tag: bytes) -> list[tuple[str, str]]:
    return [(key.decode(), value.decode(errors="replace")) for key, value in _ODS_TOLD.findall(tag)]


def _ods_struck(styles: bytes) -> set[str]:
    if b"text-line-through" not in styles:
        return set()
    found = set()
    for told, body in _pieces(styles, b"<style:style ", b"</style:style>"):
        if _ODS_STRUCK.search(body) and (name := _ODS_NAME.search(told)):
            found.add(name[1].decode(errors="replace"))
    return found


def _ods_sheet(sheet: bytes, struck: set[str], coloured: Mapping[str, str]) -> CellForms:
    """Return the forms of a sheet's cells; its rows and cells are written once for all that repeat them."""
    found = CellForms()
    row, column, columns, repeated = -1, 0, 0, 1
    tags = list(_few(_ODS_TAG, sheet))
    for tag, after in zip(tags, [*tags[1:], None], strict=True):
        told = dict(_told(tag["told"]))
        count = _count(told.get("number-columns-repeated"))
        match tag["what"]:
            case b"table-column":
                if told.get("visibility", "visible") != "visible":
                    found.hidden_columns.update(range(columns, min(columns + count, _WIDEST)))
                columns += count
            case b"table-row":
                row += repeated
                column, repeated = 0, _count(told.get("number-rows-repeated"))
                if told.get("visibility", "visible") != "visible":
                    found.hidden_rows.update(range(row, row + min(repeated, _WIDEST)))
            case b"table-cell" | b"covered-table-cell":
                body = b"" if tag[0].endswith(b"/>") else sheet[tag.end() : after.start() if after else None]
                if body and row >= 0:
                    places = [
                        (r, c)
                        for r in range(row, row + min(repeated, _WIDEST))
                        for c in range(column, column + min(count, _WIDEST))
                    ]
                    if (spanned := _count(told.get("number-rows-spanned"))) > 1:
                        found.tall[row, column] = row + min(spanned, _WIDEST) - 1
                    _ods_cell(found, places[:_WIDEST], told, found.said.without_ods_comment(row, body), struck)
                    if (colour := coloured.get(told.get("style-name", ""))) is not None:
                        found.said.colours.setdefault(colour, set()).update(at for at, _ in places)
                column += count
            case _:
                pass
    return found


def _ods_cell(
    found: CellForms, places: Sequence[tuple[int, int]], told: Mapping[str, str], body: bytes, struck: set[str]
) -> None:
    spans = re.findall(rb"text:style-name=\"([^\"]{1,200})\"", body) if struck else ()
    if told.get("style-name") in struck or any(span.decode(errors="replace") in struck for span in spans):
        found.struck.update(places)
    if told.get("value-type") in {"float", "percentage", "currency"}:
        # Further elements begin with the same letters: text:page-number.
        texts = (text for at, text in _pieces(body, b"<text:p", b"</text:p>") if at[:1] in {b"", b" "})
        shown = html.unescape(_TAG.sub(b"", b" ".join(texts)).decode(errors="replace"))
        if any(map(str.isdigit, shown)) and shown != told.get("value"):
            found.shown.update(dict.fromkeys(places, shown))


def _count(text: str | None) -> int:
    return int(text) if text is not None and text.isdecimal() and len(text) < 8 else 1
