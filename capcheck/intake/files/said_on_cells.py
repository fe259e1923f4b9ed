"""What a workbook says on its cells and beside them: comments, text boxes, lines over the page, colours.

None of it is a cell, so that no table has it, and much of it is where people write what a row means: *leave this off*.
"""

from __future__ import annotations

import html
import posixpath
import re
import zipfile
from collections.abc import Container, Iterable, Iterator, Mapping
from typing import Final

from msgspec import Struct, field

from capcheck.intake.files.grid import Grid
from capcheck.lexicon import fold, vocabulary
from capcheck.model import Note, Said, SetAside, say
from capcheck.values import Place, pattern

_PREFIX: Final = rb"<(?:\w{1,20}:)?"
_TAG: Final = pattern(rb"<[^<>]*>")
_ATTRIBUTE: Final = pattern(r"(\w{1,40})=\"([^\"]{0,1000})\"")
_RELATION: Final = pattern(_PREFIX + rb"Relationship ([^<>]*)>")
_COMMENT: Final = pattern(_PREFIX + rb"(?:comment|threadedComment)\s")
_COMMENT_END: Final = pattern(rb"</(?:\w{1,20}:)?(?:comment|threadedComment)>")
_ANCHOR: Final = pattern(_PREFIX + rb"(?:twoCell|oneCell|absolute)Anchor\b")
_ANCHOR_ROW: Final = pattern(_PREFIX + rb"row>(\d{1,7})<")
_DRAWN_TEXT: Final = pattern(_PREFIX + rb"t>([^<>]*)</|</(?:\w{1,20}:)?p>")
_PICTURE: Final = pattern(_PREFIX + rb"pic\b")
_PAGE_LINE: Final = pattern(_PREFIX + rb"(?:odd|even|first)(?:Header|Footer)[^<>]*>([^<>]*)</")
_PAGE_CODE: Final = pattern(r"&(?:\"[^\"]*\"|K[0-9A-Fa-f]{6}|K\d\d[+-]\d{3}|\d{1,3}|[A-Za-z+\-])")
_PROMPT: Final = pattern(_PREFIX + rb"(?:dataValidation|hyperlink) ([^<>]*\b(?:prompt|tooltip)=[^<>]*)>")
_CELL: Final = pattern(r"\$?([A-Z]{1,3})\$?(\d{1,7})")
_BLANKS: Final = pattern(r"\s+")
_STYLED_CELL: Final = pattern(rb"<(?:\w{1,9}:)?c ([^<>]{0,200}?\bs=\"(\d{1,6})\"[^<>]{0,200}[^/<>])>")
_NOT_MARKED: Final = pattern(rb"<(?:\w{1,9}:)?u(?=[\s/>])")
"""An underlined font is a link's, which has its own colour."""
_LONGEST: Final = 120
_MOST: Final = 200_000
_FEW: Final = 4
"""A colour that at most one row in so many bears sets its rows apart; stripes and columns of one colour do not."""
_OF_A_LEGEND: Final = 2
"""Filled cells of a row that explains a colour: the colour itself, and what it means."""
EVERY_COLOUR: Final = "*"
_COLOURED: Final = pattern(lambda: str(vocabulary().remarks.coloured))
_OLD_FORM: Final = "[Threaded comment]"
"""How the copy of a comment begins that is kept for programs that know no threads."""


class SaidOnCells(Struct):
    """What one sheet says on its cells and beside them; rows count from 0."""

    comments: dict[int, dict[str, None]] = field(default_factory=dict)
    """The comments on the cells of each row."""
    beside: list[tuple[int | None, str]] = field(default_factory=list)
    """Text boxes and lines over the page, with the row at which they stand."""
    colours: dict[str, set[int]] = field(default_factory=dict)
    """The rows with cells of each colour, of the letters or of what lies behind them."""
    pictures: int = 0

    def explained(self, grid: Grid) -> set[str]:
        """Return the colours of which the sheet says what they mean: those of a legend, or every one by its name."""
        lines = {
            number: " ".join(cells)
            for number, cells in zip(grid.numbers, grid.rows, strict=True)
            if 0 < sum(map(bool, cells)) <= _OF_A_LEGEND
        }
        if any(_COLOURED.search(fold(text)) for text in (*lines.values(), *(text for _, text in self.beside))):
            return {EVERY_COLOUR}
        return {colour for colour, rows in self.colours.items() if any(row + 1 in lines for row in rows)}

    def comment(self, row: int, text: str) -> None:
        """Keep a comment on a cell of a row."""
        if short := one_line(text):
            self.comments.setdefault(row, {})[short] = None

    def over_the_page(self, line: str) -> None:
        """Keep a line that is printed over or under each page, where it says more than codes such as the page."""
        text = one_line(_PAGE_CODE.sub(" ", line))
        if sum(map(str.isalpha, text)) > 1:
            self.beside.append((None, text))

    def without_ods_comment(self, row: int, body: bytes) -> bytes:
        """Keep the comment in the *body* of a cell of ODS; return the body without it."""
        before, begin, rest = body.partition(b"<office:annotation")
        if not begin:
            return body
        comment, _, after = rest.partition(b"</office:annotation>")
        told = comment.partition(b">")[2]
        self.comment(row, plain(b" ".join(piece.partition(b"</text:p>")[0] for piece in told.split(b"<text:p")[1:])))
        return before + after

    def add_ods_boxes(self, sheet: bytes) -> None:
        """Keep what stands in the text boxes of a sheet of ODS."""
        for piece in sheet.split(b"<draw:text-box")[1:]:
            text = one_line(plain(piece.partition(b">")[2].partition(b"</draw:text-box>")[0]))
            if text:
                self.beside.append((None, text))
        self.pictures += sheet.count(b"<draw:image")

    def tell(self, grid: Grid, explained: Container[str] = ()) -> None:
        """Tell of all this in *grid*: what stands on a row asks about it, what stands elsewhere is said.

        A colour that sets rows apart asks about them where a legend says what any of them means, here or, *explained*,
        on another sheet; else it is said.
        """
        filled = {number for number, cells in zip(grid.numbers, grid.rows, strict=True) if any(cells)}
        for rows in self.colours.values():
            rows &= {number - 1 for number in filled}
        # Where a legend gives one colour a meaning, the others have one too that nobody wrote down.
        has_legend = any(_is_among(c, explained) or _is_among(c, self.explained(grid)) for c in self.colours)
        for colour, rows in self.colours.items():
            if not 0 < len(rows) * _FEW <= len(filled):
                continue
            if has_legend:
                _ask(grid, rows, say("files.in another colour", colour=colour))
            else:
                told = sorted(row + 1 for row in rows)
                shown = [str(number) for number in told]
                said = say("files.coloured rows", colour=colour, count=len(told), rows=shown)
                grid.notes.append(Note(said, Place(grid.file, told[0])))
        for row, texts in self.comments.items():
            if row + 1 in filled:
                grid.comments[row + 1] = list(texts)
                _ask(grid, (row,), say("files.comment", texts=list(texts)))
            else:
                self.beside += [(row, text) for text in texts]
        # Without a row: they are none, and may stand over one that is.
        for text in dict.fromkeys(text for _, text in self.beside):
            grid.set_aside.append(SetAside(Place(grid.file), say("files.said beside the cells"), text))
        if self.beside:
            every = list(dict.fromkeys(text for _, text in self.beside))
            grid.notes.append(Note(say("files.beside the cells", texts=every), Place(grid.file)))
        if self.pictures:
            grid.notes.append(Note(say("files.pictures", count=self.pictures), Place(grid.file)))


def colours_explained(sheets: Iterable[tuple[Grid | None, SaidOnCells]]) -> set[str]:
    """Return the colours of which the sheets of a workbook say what they mean; nothing where there are no colours."""
    told = [(grid, said) for grid, said in sheets if grid is not None]
    if not any(said.colours for _, said in told):
        return set()
    return {colour for grid, said in told for colour in said.explained(grid)}


def _is_among(colour: str, explained: Container[str]) -> bool:
    return colour in explained or EVERY_COLOUR in explained


def _ask(grid: Grid, rows: Iterable[int], said: Said) -> None:
    for row in rows:
        grid.asked.setdefault(row + 1, said)


def one_line(text: str) -> str:
    """Return a text in one line, and no longer than is shown."""
    return _BLANKS.sub(" ", text).strip()[:_LONGEST]


def plain(marked: bytes) -> str:
    """Return the text of a piece of markup."""
    return html.unescape(_TAG.sub(b" ", marked).decode(errors="replace"))


def _attributes(tag: bytes) -> dict[str, str]:
    return {key: html.unescape(text) for key, text in _ATTRIBUTE.findall(tag.decode(errors="replace"))}


def said_on_sheet(archive: zipfile.ZipFile, part: str, coloured: Mapping[int, str]) -> SaidOnCells:
    """Return what the sheet in *part* of an XLSX says so; *coloured* are the numbers of the styles with a colour."""
    found, sheet = SaidOnCells(), archive.read(part)
    for _, drawing in related_parts(archive, part):
        if _ANCHOR.search(drawing):
            add_drawn(found, drawing)
        else:
            _add_comments(found, drawing)
    for line in _PAGE_LINE.findall(sheet):
        found.over_the_page(html.unescape(line.decode(errors="replace")))
    for tag in _PROMPT.findall(sheet):
        told = _attributes(tag)
        cell = _CELL.match(told.get("sqref", ""))
        if text := one_line(told.get("prompt") or told.get("tooltip", "")):
            found.beside.append((int(cell[2]) - 1 if cell else None, text))
    if coloured:
        for match, _ in zip(_STYLED_CELL.finditer(sheet), range(_MOST), strict=False):
            colour = coloured.get(int(match[2]))
            at = _CELL.fullmatch(_attributes(match[1]).get("r", "")) if colour else None
            if colour and at:
                found.colours.setdefault(colour, set()).add(int(at[2]) - 1)
    return found


def relations(archive: zipfile.ZipFile, part: str, kinds: Container[str] | None = None) -> dict[str, str]:
    """Return the parts that a part of a workbook is related to, by their names in it; of all *kinds* or of some."""
    folder, name = posixpath.split(part)
    file = f"{folder}/_rels/{name}.rels"
    found = {}
    for tag in _RELATION.findall(archive.read(file)) if file in archive.namelist() else ():
        told = _attributes(tag)
        target = told.get("Target", "")
        path = target.lstrip("/") if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))
        if kinds is None or told.get("Type", "").rpartition("/")[2] in kinds:
            found[told.get("Id") or path] = path
    return found


def related_parts(archive: zipfile.ZipFile, part: str) -> Iterator[tuple[str, bytes]]:
    """Yield name and content of the comments and the drawings of a sheet."""
    names = set(archive.namelist())
    for path in relations(archive, part, {"comments", "threadedComment", "drawing"}).values():
        if path in names:
            yield path, archive.read(path)


def _add_comments(found: SaidOnCells, comments: bytes) -> None:
    for piece in _COMMENT.split(comments)[1:]:
        tag, _, body = piece.partition(b">")
        at = _CELL.fullmatch(_attributes(tag).get("ref", ""))
        text = plain((_COMMENT_END.split(body) or [b""])[0])
        if at and not text.lstrip().startswith(_OLD_FORM):
            found.comment(int(at[2]) - 1, text)


def add_drawn(found: SaidOnCells, drawing: bytes) -> None:
    """Add the texts of the boxes in a *drawing* over a sheet, and count its pictures."""
    for piece in _ANCHOR.split(drawing)[1:]:
        row = _ANCHOR_ROW.search(piece)
        text = "".join(
            html.unescape(match[1].decode(errors="replace")) if match[1] is not None else "\n"
            for match in _DRAWN_TEXT.finditer(piece)
        )
        if text := one_line(text):
            found.beside.append((int(row[1]) if row else None, text))
        found.pictures += _PICTURE.search(piece) is not None


def coloured_styles(fonts: bytes, fills: bytes, cells: bytes) -> dict[int, str]:
    """Return the colours of the styles that have one, by number; what is black, white or a link's has none.

    *fonts*, *fills* and *cells* are what the elements of these names of the workbook's styles hold.
    """
    of_fonts = [_font_colour(piece) for piece in re.split(rb"<(?:\w{1,9}:)?font(?=[\s/>])", fonts)[1:]]
    of_fills = [_fill_colour(piece) for piece in re.split(rb"<(?:\w{1,9}:)?fill(?=[\s/>])", fills)[1:]]
    if not any(of_fonts) and not any(of_fills):
        return {}
    found = {}
    for i, tag in enumerate(re.findall(rb"<(?:\w{1,9}:)?xf ([^<>]*)>", cells)):
        told = _attributes(tag)
        texts = (_of(of_fills, told.get("fillId")), _of(of_fonts, told.get("fontId")))
        if any(texts):
            found[i] = " / ".join(filter(None, texts))
    return found


def _of(colours: list[str], number: str | None) -> str:
    return colours[int(number)] if number and number.isdecimal() and int(number) < len(colours) else ""


_COLOUR: Final = pattern(rb"<(?:\w{1,9}:)?(?:color|fgColor) ([^<>]*)>")
NO_COLOURS: Final = frozenset({"000000", "FFFFFF", "theme 0", "theme 1", "64", "65", "8", "9"})


def _font_colour(font: bytes) -> str:
    return "" if _NOT_MARKED.search(font) else _colour(font)


def _fill_colour(fill: bytes) -> str:
    return _colour(fill) if b'patternType="solid"' in fill else ""


def _colour(piece: bytes) -> str:
    """Return the colour that is told first, as a name of its own; empty for black, white and none."""
    tag = _COLOUR.search(piece)
    told = _attributes(tag[1]) if tag else {}
    shade = f" {told['tint']}" if told.get("tint", "0").strip("-0.") else ""
    colour = told["rgb"][-6:].upper() if "rgb" in told else told.get("indexed", "")
    if "theme" in told:
        colour = f"theme {told['theme']}"
    return "" if colour in NO_COLOURS and not shade else f"{colour}{shade}"


_ODS_COLOUR: Final = pattern(rb"fo:(?:background-)?color=\"#([0-9A-Fa-f]{6})\"")


def ods_colours(styles: bytes) -> dict[str, str]:
    """Return the colours of the styles of cells in ODS, by the style's name; black and white are none."""
    if b"fo:color" not in styles and b"fo:background-color" not in styles:
        return {}
    found = {}
    for piece in styles.split(b"<style:style ")[1:]:
        tag, _, body = piece.partition(b">")
        name = re.search(rb"style:name=\"([^\"]{1,200})\"", tag)
        written = _ODS_COLOUR.findall(body.partition(b"</style:style>")[0])
        told = dict.fromkeys(colour.decode().upper() for colour in written)
        texts = [colour for colour in told if colour not in NO_COLOURS]
        if name and texts:
            found[name[1].decode(errors="replace")] = " / ".join(texts)
    return found
