"""Spreadsheets (XLSX, XLSM, XLSB, XLS, ODS) through calamine, with every cell as the text that was meant."""

from __future__ import annotations

import datetime as dt
import html
import io
import itertools
import re
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from capcheck.intake.files.cell_forms import CellForms, column_number, forms_of_cells, sheet_parts
from capcheck.intake.files.grid import Grid, without_blank_runs
from capcheck.intake.files.merged_cells import ask_below_merged
from capcheck.intake.files.said_on_cells import colours_explained
from capcheck.model import Note, say
from capcheck.values import InputError, Place, pattern

if TYPE_CHECKING:
    from python_calamine import CalamineSheet, CalamineWorkbook

_LARGEST: Final = 200 * 1024 * 1024
"""Bytes a spreadsheet may unpack to: a sheet of 100,000 rows has about 60 MB."""
_MOST_CELLS: Final = 4_000_000
"""calamine keeps a sheet as a full rectangle, 32 bytes a cell: one stray cell in the far corner would cost 500 GB."""
_NOTHING: Final = frozenset({"", None})
_LARGEST_EXACT: Final = 1e15
_CHUNK: Final = 1 << 20
_SMALL: Final = 16 * 1024 * 1024
_DENSEST: Final = 100
"""How many times its packed size a large part may unpack to; sheets of blank cells alone come to 60."""

_CELL_COLUMN: Final = pattern(rb"<(?:\w+:)?c r=\"([A-Z]+)\d+\"")
_WIDE_COLUMN: Final = pattern(rb"c r=\"[A-Z][A-Z]")
_LAST_CELL: Final = pattern(rb".*<(?:\w+:)?c r=\"[A-Z]+(\d+)\"", re.DOTALL)
_SHARED_TEXTS: Final = "xl/sharedStrings.xml"
_SHARED_CELL: Final = pattern(rb"t=\"s\"[^>]*><v>(\d{1,9})</v>")
_LONG_TEXT: Final = 1000
_UNSTORED: Final = pattern(rb"</f>\s*(?:<v\s*/>|<v></v>)?\s*</c>")
_IS_NUMBER: Final = pattern(r"[0-9]{1,6}(?:[.,][0-9]{1,6})?")
_CELL_AT: Final = pattern(rb"r=\"([A-Z]{1,3})(\d{1,7})\"")
_LONGEST_FORMULA: Final = 60
_LONGEST_END: Final = 100
_FEWEST_COLUMNS: Final = 4
_SHOWN: Final = 80
_MOST_MERGED: Final = 2000
"""Rows below merged cells that are looked at."""
_ODS_ROW: Final = (b"<table:table-row", b"</table:table-row>")
_ODS_CELL: Final = pattern(rb"<table:(?:covered-)?table-cell\b([^>]*)>")
_ODS_REPEATED: Final = pattern(rb"number-(?:rows|columns)-repeated=\"(\d{1,9})\"")


def cell_text(value: object) -> str:
    """Return a cell as the text that was meant: 402.0 is ``402``, and no number is written with an exponent."""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        if value.is_integer() and abs(value) < _LARGEST_EXACT:
            return str(int(value))
        # Fifteen digits are what a spreadsheet shows; the binary rest is noise (0.1 + 0.2).
        text = f"{value:.15g}"
        return format(Decimal(text), "f") if "e" in text else text
    if isinstance(value, dt.datetime):
        return value.isoformat(" ")
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    return "" if value is None else str(value)


_BINARY: Final = b"xl/workbook.bin"


def read_spreadsheet(data: bytes, file: str) -> Iterator[Grid]:
    """Yield each visible or hidden sheet that holds cells.

    Raises :class:`InputError` if the file is damaged, protected, no spreadsheet, or would unpack to far more than a
    board's data can have.
    """
    from python_calamine import CalamineError, CalamineWorkbook, PasswordError, SheetVisibleEnum

    notes = _inspect(data, file) if data[:2] == b"PK" else []
    formulas = _unstored_formulas(data) if notes else {}
    form = _form(data)
    forms = _forms(data, form)
    if forms is None:
        notes = [*notes, Note(say("files.forms of cells not read", form=form), Place(file))]
        forms = {}
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        of_sheets = [
            (sheet, _sheet(book, sheet.name, file, formulas.get(sheet.name, {}), forms.get(sheet.name) or CellForms()))
            for sheet in book.sheets_metadata
        ]
        explained = colours_explained(
            (grid, forms[sheet.name].said) for sheet, grid in of_sheets if sheet.name in forms
        )
        for sheet, grid in of_sheets:
            name = sheet.name
            if grid is not None:
                (forms.get(name) or CellForms()).tell(grid, explained)
            if grid is not None and sheet.visible != SheetVisibleEnum.Visible:
                grid.asked = {number: say("files.hidden sheet", sheet=name) for number in grid.numbers}
            if grid is not None:
                grid.sheet, grid.encoding = name, form
                grid.notes += notes
                notes = []
                yield grid
    except PasswordError:
        raise InputError.at(
            file, "the spreadsheet is protected by a password", "its cells cannot be read", "send it without"
        ) from None
    except CalamineError as error:
        raise InputError.at(
            file,
            f"the spreadsheet cannot be read: {str(error)[:120]}",
            "it is damaged, protected, or another kind of file under this name",
            "open it and save it again as XLSX or CSV",
        ) from None


def _forms(data: bytes, form: str) -> Mapping[str, CellForms] | None:
    """Return how the cells of each sheet are shown, by its name; None where that cannot be read."""
    try:
        if form == "XLS":
            from capcheck.intake.files.xls_forms import forms_in_xls

            return forms_in_xls(data)
        if form == "XLSB":
            from capcheck.intake.files.xlsb_forms import forms_in_xlsb

            with zipfile.ZipFile(io.BytesIO(data)) as archive:
                return forms_in_xlsb(archive)
    except Exception:  # noqa: BLE001 - records of a damaged file end in errors of any kind, and its cells may be read
        return None
    return forms_of_cells(data)


def _form(data: bytes) -> str:
    """Return the form of a workbook by its first bytes, as its name would end."""
    if not data.startswith(b"PK"):
        return "XLS"
    if b"opendocument" in data[:200]:
        return "ODS"
    return "XLSB" if _BINARY in data else "XLSX"


def _inspect(data: bytes, file: str) -> list[Note]:
    """Refuse a zip archive that is damaged, is no spreadsheet, or unpacks to too much, before anything unpacks it."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        entries = archive.infolist()
    except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError):
        raise InputError.at(
            file, "the file is a damaged archive", "its sheets cannot be unpacked", "send the file again"
        ) from None
    names = {entry.filename for entry in entries}
    if not names & {"[Content_Types].xml", "content.xml", "mimetype"} and not any(n.startswith("xl/") for n in names):
        shown = ", ".join(sorted(names)[:5])
        raise InputError.at(
            file,
            f"this is a zip archive with {shown}",
            "a table must be named, not guessed out of an archive",
            "unpack it and name the file in it",
        )
    declared = sum(entry.file_size for entry in entries)
    if declared > _LARGEST or (declared > _SMALL and declared > _DENSEST * len(data)):
        raise _too_large(file, declared)
    if any(entry.flag_bits & 1 for entry in entries):
        raise InputError.at(
            file, "the spreadsheet is protected by a password", "its cells cannot be read", "send it without"
        )
    try:
        # A wrong size in the directory ends here: zipfile stops at the size declared and the checksum does not fit.
        unstored = sum(
            _inspect_part(archive, entry, file)
            for entry in entries
            if entry.filename.endswith((".xml", ".bin")) and not entry.is_dir()
        )
        weight = _weight_of_texts(archive, names)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError):
        raise InputError.at(
            file,
            "the spreadsheet is damaged",
            "a part of it does not unpack to what it declares",
            "send the file again",
        ) from None
    if weight > _LARGEST:
        raise _too_large(file, weight)
    if not unstored:
        return []
    return [Note(say("files.formulas without result", count=unstored), Place(file))]


def _too_large(file: str, size: int) -> InputError:
    return InputError.at(
        file,
        f"the spreadsheet unpacks to {size / 1e6:,.0f} MB",
        "a board's data has a few; unpacking it could stop this machine",
        "send the table alone, as CSV",
    )


def _weight_of_texts(archive: zipfile.ZipFile, names: set[str]) -> int:
    """Return the characters of all cells whose text is stored once and used often, if any of these texts is long."""
    if _SHARED_TEXTS not in names:
        return 0
    sizes = list(map(len, archive.read(_SHARED_TEXTS).split(b"<si>")[1:]))
    longest = max(sizes, default=0)
    if longest < _LONG_TEXT:
        return 0
    weight = 0
    for name in names:
        if name.startswith("xl/worksheets/") and name.endswith(".xml"):
            sheet = archive.read(name)
            if longest * sheet.count(b't="s"') > _LARGEST:
                weight += sum(sizes[int(n)] for n in _SHARED_CELL.findall(sheet) if int(n) < len(sizes))
    return weight


def _inspect_part(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, file: str) -> int:
    """Unpack one part, check it, and return the number of formulas without a stored result."""
    sheet = "sheet" in entry.filename.lower() and entry.filename.endswith(".xml")
    if not sheet and entry.filename != "content.xml":
        with archive.open(entry) as part:
            while part.read(_CHUNK):
                pass
        return 0
    text = archive.read(entry)
    if entry.filename == "content.xml":
        rows, columns = _ods_extent(text)
        if rows * columns > _MOST_CELLS:
            raise _too_wide(file, entry.filename, rows, columns)
        return 0
    tail = _LAST_CELL.match(text[-20_000:])
    last = int(tail[1]) if tail is not None and len(tail[1]) < 9 else 0
    # Column letters are gathered from all cells only where there are two-letter ones: large sheets are narrow.
    looked_at = text if _WIDE_COLUMN.search(text) else text[:_CHUNK] + text[-_CHUNK:]
    letters = set(_CELL_COLUMN.findall(looked_at))
    columns = max((column_number(c) for c in letters), default=0)
    if last * columns > _MOST_CELLS:
        raise _too_wide(file, entry.filename, last, columns)
    return len(_UNSTORED.findall(text)) if b"</f>" in text else 0


def _too_wide(file: str, part: str, rows: int, columns: int) -> InputError:
    return InputError.at(
        file,
        f"a sheet spans {rows:,} rows by {columns:,} columns ({part})",
        "a stray or repeated cell far out makes it so; no board has such a table",
        "delete what stands outside the table",
    )


def _ods_extent(text: bytes) -> tuple[int, int]:
    """Return the rows down to the last filled one and the columns over to it, with all that is written as repeated.

    Several sheets are counted as one: they are all unpacked.
    """
    rows = last = widest = 0
    begin, end = _ODS_ROW
    for piece in text.split(begin)[1:]:
        attributes, _, body = piece.partition(b">")
        # A row without cells is closed at once: then nothing behind it is its own.
        body = b"" if attributes.endswith(b"/") else body.partition(end)[0]
        repeated = _ODS_REPEATED.search(attributes)
        rows += int(repeated[1]) if repeated else 1
        if b"repeated" not in body:
            width = body.count(b"<table:table-cell") if b"office:value" in body or b"<text:p" in body else 0
        else:
            width = _filled_width(body)
        if width:
            last, widest = rows, max(widest, width)
    return last, widest


def _filled_width(body: bytes) -> int:
    """Return the number of columns up to the last filled cell of a row."""
    column = filled = 0
    for attributes in _ODS_CELL.findall(body):
        repeated = _ODS_REPEATED.search(attributes)
        column += int(repeated[1]) if repeated else 1
        if not attributes.endswith(b"/") or b"office:value" in attributes:
            filled = column
    return filled


def _sheet(
    book: CalamineWorkbook, name: str, file: str, formulas: Mapping[tuple[int, int], str], forms: CellForms
) -> Grid | None:
    sheet = book.get_sheet_by_name(name)
    if sheet.start is None or sheet.end is None:
        return None
    # Rows come from the sheet's first on, but cells only from the first column that holds anything.
    pad = [""] * sheet.start[1]
    below = _below_merged_numbers(sheet)
    shown = bool(forms.formats or forms.shown)
    written = (
        pad
        + (
            [_shown(v, (row, column), forms) for column, v in enumerate(values, len(pad))]
            if shown
            else [v if isinstance(v, str) else cell_text(v) for v in values]
        )
        if any(v not in _NOTHING for v in values)
        else []
        for row, values in enumerate(sheet.iter_rows())
    )
    rows = _with_told(written, {**formulas, **below}) if below or formulas else written
    grid = without_blank_runs(rows, itertools.count(1), "spreadsheet", file)
    grid.notes += _merged(sheet, file)
    _ask_of_merged_rows(sheet, grid)
    tall = {start: end[0] for start, end in sheet.merged_cell_ranges or () if end[0] > start[0]}
    ask_below_merged(grid, tall or forms.tall)
    return grid if any(grid.rows) else None


def _ask_of_merged_rows(sheet: CalamineSheet, grid: Grid) -> None:
    """Ask about rows among filled ones over which one cell is merged: a remark may stand where a part was listed."""
    wide = {
        start[0] + 1: start[1]
        for start, end in sheet.merged_cell_ranges or ()
        if start[0] == end[0] and 2 * (end[1] - start[1] + 1) > max(_FEWEST_COLUMNS, sheet.width)
    }
    filled = [2 * sum(map(bool, cells)) > sheet.width for cells in grid.rows] if wide else []
    for i in range(1, len(filled) - 1):
        number, cells = grid.numbers[i], grid.rows[i]
        column = wide.get(number, len(cells))
        if filled[i - 1] and filled[i + 1] and column < len(cells) and cells[column]:
            grid.asked.setdefault(number, say("files.merged over the row", text=cells[column][:_SHOWN]))


def _shown(value: object, at: tuple[int, int], forms: CellForms) -> str:
    text = cell_text(value)
    if isinstance(value, int | float) and not isinstance(value, bool):
        return forms.text(at, value, text)
    return text


def _below_merged_numbers(sheet: CalamineSheet) -> dict[tuple[int, int], str]:
    """Return what stands in cells below a number that is merged over several rows: it may be theirs too."""
    tall = {start: end for start, end in sheet.merged_cell_ranges or () if end[0] > start[0]}
    if not tall or sum(end[0] - start[0] for start, end in tall.items()) > _MOST_MERGED:
        return {}
    found: dict[tuple[int, int], str] = {}
    for row, values in enumerate(sheet.iter_rows()):
        for (first, column), (last, _) in tall.items():
            at = column - (sheet.start or (0, 0))[1]
            if row == first and 0 <= at < len(values) and _IS_NUMBER.fullmatch(cell_text(values[at])):
                told = f"{cell_text(values[at])} (merged with row {first + 1})"
                found.update(((below, column), told) for below in range(first + 1, last + 1))
    return found


def _with_told(rows: Iterable[list[str]], told: Mapping[tuple[int, int], str]) -> Iterator[list[str]]:
    """Yield the rows with what is told of cells that hold nothing; row and column count from 0."""
    of_row: dict[int, dict[int, str]] = {}
    for (row, column), text in told.items():
        of_row.setdefault(row, {})[column] = text
    for row, cells in enumerate(rows):
        for column, text in of_row.get(row, {}).items():
            if column < len(cells) and not cells[column]:
                cells[column] = text
        yield cells


def _unstored_formulas(data: bytes) -> dict[str, dict[tuple[int, int], str]]:
    """Return for each sheet of an XLSX the formulas whose result is not stored, by row and column from 0."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: _formulas_in(archive.read(part)) for name, part in sheet_parts(archive).items()}


def _formulas_in(sheet: bytes) -> dict[tuple[int, int], str]:
    found = {}
    for piece in sheet.split(b"</c>"):
        if b"</f>" not in piece or not _UNSTORED.search(piece[-_LONGEST_END:] + b"</c>"):
            continue
        cell = _CELL_AT.search(piece, max(0, piece.rfind(b"<c ")))
        if cell is not None:
            formula = piece[: piece.rfind(b"</f>")].rpartition(b">")[2][:_LONGEST_FORMULA]
            at = int(cell[2]) - 1, column_number(cell[1]) - 1
            found[at] = "=" + html.unescape(formula.decode(errors="replace"))
    return found


def _merged(sheet: CalamineSheet, file: str) -> list[Note]:
    tall = [start[0] + 1 for start, end in sheet.merged_cell_ranges or () if end[0] > start[0]]
    if not tall:
        return []
    return [Note(say("files.merged cells", count=len(tall)), Place(file, min(tall)))]
