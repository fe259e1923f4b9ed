"""Rows to a table: which row is the header, which rows are data, and why each of the others is set aside."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from operator import itemgetter
from typing import Final

from msgspec import Struct, field

from capcheck.intake.files import (
    Grid,
    Middle,
    PackedColumn,
    TornCells,
    decimal_commas,
    long_rows,
    mended_rows,
    pack_around,
    parts_numbers,
    short_rows,
)
from capcheck.intake.tables.content import decimal_mark, is_number, is_reference
from capcheck.intake.tables.header_units import titles_with_units
from capcheck.intake.tables.header_words import count_roles
from capcheck.intake.tables.remarks import TOTAL_BEGINS, Remark, is_total, plain_beginnings, why_aside
from capcheck.intake.tables.table import Table
from capcheck.lexicon import fold
from capcheck.model import Note, SetAside, say
from capcheck.values import pattern

_SEARCHED: Final = 120
"""Rows looked at for a header: a preamble has a dozen lines, a cover sheet a few dozen."""
_WIDEST: Final = 1000
_LONGEST_TEXT: Final = 200

_DIGITS: Final = pattern(r"\d+")


def _strip_mark(cell: str) -> str:
    return cell.strip().lstrip("#;*!/ \t").strip() if cell[:1] in "#;*!/ \t" else cell.strip()


def header_cells(row: Sequence[str]) -> list[str]:
    """Return a row's cells as titles: stripped, line breaks as spaces, a comment mark before the first taken off."""
    cells = [" ".join(cell.split()) for cell in row[:_WIDEST]]
    if cells and len(cells[0]) > 1:
        cells[0] = _strip_mark(cells[0])
    return cells


def header_score(row: Sequence[str]) -> int:
    """Return how many roles a row's titles claim; 0 for a row that holds numbers."""
    filled = [c for c in header_cells(row) if c]
    if len(filled) < 2 or sum(map(is_number, filled)) > len(filled) / 4:
        return 0
    return count_roles(filled)


def find_header(rows: Sequence[Sequence[str]]) -> tuple[int, int] | None:
    """Return the index of the header among the first rows and its score, or None if no row has two known titles.

    Of two such rows the one with more known titles wins; of equal ones with no data between them the lower.
    """
    best: tuple[int, int] | None = None
    data_since = False
    for i, row in enumerate(rows[:_SEARCHED]):
        score = header_score(row)
        if score >= 2 and (best is None or score > best[1] or (score == best[1] and not data_since)):
            best, data_since = (i, score), False
        elif sum(map(is_number, (c.strip() for c in row[:_WIDEST] if c))) >= 1 and len(row) > 1:
            data_since = True
    return best


def _find_unknown_header(rows: Sequence[Sequence[str]]) -> tuple[int, bool] | None:
    """Return the first row of the table proper and whether it is a header, judged by the cells below it.

    Used where no title is known. A row is a header if it holds text over columns of numbers; a row that starts like
    those below it is data.
    """
    shapes = [
        (i, len(row)) for i, row in enumerate(rows[:_SEARCHED]) if sum(bool(c.strip()) for c in row[:_WIDEST]) > 1
    ]
    if not shapes:
        return None
    usual = Counter(width for _, width in shapes).most_common(1)[0][0]
    usual_rows = [i for i, width in shapes if width == usual]
    first = usual_rows[0]
    below = [[c.strip() for c in rows[i][:_WIDEST]] for i in usual_rows[1:40]]
    top = [c.strip() for c in rows[first][:_WIDEST]]
    if not below:
        return first, not any(map(is_number, top))
    for k, cell in enumerate(top):
        filled = [row[k] for row in below if row[k]]
        if len(filled) < 0.3 * len(below):
            continue
        numeric = sum(map(is_number, filled)) >= 0.8 * len(filled)
        if numeric:
            return first, bool(cell) and not is_number(cell)
    likes = [k for k, cell in enumerate(top) if is_reference(cell) and is_reference(below[0][k])]
    return first, not likes


def _reads_like_data(row: Sequence[str]) -> bool:
    """Whether a row has a reference and two numbers, as a placement has."""
    cells = [cell.strip() for cell in row[:_WIDEST] if cell.strip()]
    return sum(map(is_number, cells)) > 1 and any(map(is_reference, cells))


def row_text(row: Sequence[str]) -> str:
    """Return a row as one line for a report, cut to a length that can be read."""
    text = " ".join(" ".join(cell.split()) for cell in row[:50] if cell)
    return text if len(text) <= _LONGEST_TEXT else text[:_LONGEST_TEXT] + "…"


_BLANKS: Final = " \t\n\r\x0b\x0c\x1c\x1d\x1e\x1f"
_SHORT: Final = 2000
"""Rows of a table short enough to look at each."""
_ODD_START: Final = pattern(r"\n[#/;!*=_~+\s-]")
_SUSPECT: Final = frozenset("#/;!*-=_~+ \t")


class _Section(Struct):
    """Rows start to end of a grid, the index of the header (or None) and the first row of data."""

    start: int
    end: int
    header: int | None
    body: int
    title: str | None = None
    file: str = ""
    set_aside: list[SetAside] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)


def lay_out(grid: Grid, file: str, sheet: str | None, encoding: str) -> list[Table]:
    """Return the tables that stand in a grid, one below another; usually one.

    A second header below the data begins a second table if it differs, or if a title stands above it.
    """
    if not grid.rows:
        return []
    sections = _sections(grid.rows)
    if grid.middle is not None and not _fits(grid.middle, grid.rows, sections):
        grid.unfold()
        sections = _sections(grid.rows)
    return [_table(grid, section, file, sheet, encoding, first=k == 0) for k, section in enumerate(sections)]


def _fits(middle: Middle, rows: list[list[str]], sections: list[_Section]) -> bool:
    """Whether the middle of a large file is data of its only table, with the width of its header and no odd row."""
    if len(sections) != 1 or sections[0].body > middle.at:
        return False
    header = sections[0].header
    titles = header_cells(rows[header]) if header is not None else []
    width = len(titles) or len(middle.columns)
    if width != len(middle.columns):
        return False
    title = titles[0] if titles else ""
    if not middle.columns[1].filled.all():
        return False
    plain = plain_beginnings().issuperset(map(chr, middle.starts)) and not middle.columns[0].holds(title)
    return plain or _is_even(middle.columns[0], middle.columns[1], title)


def _is_even(first: Sequence[str], second: Sequence[str], title: str) -> bool:
    """Whether no row is a remark, a total, blank or the header again, told by the first two columns as a whole."""
    plain = plain_beginnings()
    doubtful = [cell for cell in first if cell[:1] not in plain]
    joined = fold("\n" + "\n".join(doubtful) + "\n")
    return all(second) and title not in first and not _ODD_START.search(joined) and not TOTAL_BEGINS.search(joined)


def _sections(rows: list[list[str]]) -> list[_Section]:
    known = find_header(rows)
    if known is None:
        unknown = _find_unknown_header(rows)
        if unknown is None:
            return [_Section(0, len(rows), None, 0)]
        index, is_header = unknown
        if not is_header:
            # A row of another width above the first usual one is data too if it reads like it.
            index = next((i for i in range(index) if _reads_like_data(rows[i])), index)
        return [_Section(0, len(rows), index if is_header else None, index + is_header)]
    at, score = known
    sections = [_Section(0, len(rows), at, at + 1)]
    above = {_without_numbers(row) for row in rows[:at]}
    for i in _repeats(rows, at):
        cells = header_cells(rows[i])
        if header_score(rows[i]) < max(2, 0.6 * score):
            continue
        title_at = _title_above(rows, i, sections[-1].body)
        if cells == header_cells(rows[at]) and (title_at is None or _without_numbers(rows[title_at]) in above):
            continue  # repeated at a page break: set aside where the rows are sorted
        start = i if title_at is None else title_at
        sections[-1].end = start
        title = row_text(rows[start]).strip(" :#") if title_at is not None else None
        sections.append(_Section(start, len(rows), i, i + 1, title or f"from row {i + 1}"))
    return sections


def _without_numbers(row: Sequence[str]) -> str:
    """Return a row's text without numbers, which count pages in the line above each of them."""
    return _DIGITS.sub("", row_text(row))


def _repeats(rows: list[list[str]], at: int) -> list[int]:
    """Return the rows below the header that share half of their titles with it."""
    titles = {c.casefold() for c in header_cells(rows[at]) if c}
    found = []
    if len(rows) > 10 * _SHORT and rows[at][0] not in [row[0] for row in rows[at + 1 :] if row]:
        return []  # a table as long as this repeats its own header, if any
    for i in range(at + 1, len(rows)):
        row = rows[i]
        if titles.isdisjoint(map(str.casefold, map(str.strip, row))):
            continue
        same = sum(c.strip().casefold() in titles for c in row if c and len(c) < 40)
        if same >= 2 and same >= 0.5 * sum(map(bool, row)):
            found.append(i)
    return found


def _title_above(rows: list[list[str]], at: int, floor: int) -> int | None:
    """Return the row of a title that stands alone above a header, over blank rows, or None."""
    for i in range(at - 1, floor - 1, -1):
        filled = [c for c in rows[i] if c.strip()]
        if filled:
            return i if len(filled) == 1 and not is_reference(filled[0]) else None
    return None


def _table(grid: Grid, section: _Section, file: str, sheet: str | None, encoding: str, *, first: bool) -> Table:
    rows, numbers = grid.rows, grid.numbers
    section.file = file
    aside = section.set_aside
    preamble: list[tuple[int, str]] = []
    top = section.header if section.header is not None else section.body
    for i in range(section.start, top):
        text = row_text(rows[i])
        aside.append(SetAside(file, numbers[i], "before the header" if text else "blank row", text))
        if text:
            preamble.append((numbers[i], text))
    header: list[str] = []
    if section.header is not None:
        header = header_cells(rows[section.header])
        while header and not header[-1]:
            header.pop()
        aside.append(SetAside(file, numbers[section.header], "header", row_text(rows[section.header])))
        below = rows[section.body] if section.body < section.end else []
        titled = titles_with_units(header, below)
        if titled is not None:
            header = titled
            aside.append(SetAside(file, numbers[section.body], "units of the columns", row_text(below)))
            section.body += 1
    body, body_numbers, width = _sort_rows(grid, section, header, preamble, file)
    if len(header) < width and header:
        header += [""] * (width - len(header))
    columns: list[Sequence[str]] = [list(map(itemgetter(k), body)) for k in range(width)]
    if grid.middle is not None:
        columns, body_numbers = _insert(grid.middle, columns, body_numbers)
    if grid.padded:
        columns = [_stripped(column) for column in columns]
    while len(columns) > 1 and not (header and header[-1]) and not any(columns[-1]):
        columns.pop()
        del header[len(columns) :]
    aside = sorted(grid.set_aside + aside if first else aside, key=lambda a: a.row)
    name = " / ".join(part for part in (sheet, section.title) if part) or None
    return Table(
        file=file,
        sheet=name,
        header=tuple(header),
        header_row=None if section.header is None else numbers[section.header],
        columns=columns,
        row_numbers=body_numbers,
        preamble=tuple(preamble),
        set_aside=tuple(aside),
        encoding=encoding,
        delimiter=grid.delimiter,
        decimal=decimal_mark(columns),
        notes=tuple((grid.notes if first else []) + section.notes),
        total_rows=len(body_numbers) + len(aside),
    )


def _sort_rows(
    grid: Grid, section: _Section, header: list[str], preamble: list[tuple[int, str]], file: str
) -> tuple[list[list[str]], Sequence[int], int]:
    """Part the rows below the header into data, all of one width, and rows set aside."""
    rows, numbers = grid.rows, grid.numbers
    body = rows[section.body : section.end]
    width = len(header) or (Counter(map(len, body)).most_common(1)[0][0] if body else 0)
    width = width or max(map(len, body), default=0)
    header_row = rows[section.header] if section.header is not None else None
    suspects = _suspects(body, width, grid.delimiter, header_row[0] if header_row else "")
    if not suspects:
        return body, numbers[section.body : section.end], width
    dropped: set[int] = set()
    long: list[int] = []
    short: list[int] = []
    for i in suspects:
        row = body[i]
        repeated = header_row is not None and row == header_row
        why = None if repeated else why_aside(row, width)
        reason = say("rows.header repeated") if repeated else say(why.value) if why else None
        if reason is None and sum(map(bool, map(str.strip, row[width:]))) and len(row) > width + 50:
            reason = say("rows.too many cells", cells=len(row), width=width)
        if reason is not None:
            number = numbers[section.body + i]
            title = why is Remark.TITLE
            section.set_aside.append(SetAside(file, number, reason, row_text(row), is_title=title))
            if why is Remark.COMMENT and len(dropped) == i:
                # Remarks between header and data often state the units.
                preamble.append((number, row_text(row)))
            dropped.add(i)
        elif len(row) > width and any(map(str.strip, row[width:])):
            long.append(i)
        elif len(row) < width:
            short.append(i)
    full = _even_out(grid, section, body, (long, short), width)
    kept = [i for i in range(len(body)) if i not in dropped] if dropped else range(len(body))
    data = [body[i] for i in kept]
    if full > width or any(len(row) != width for row in data):
        data = [row if len(row) == full else (row + [""] * (full - len(row)))[:full] for row in data]
    return data, [numbers[section.body + i] for i in kept], full


def _even_out(
    grid: Grid, section: _Section, body: list[list[str]], uneven: tuple[list[int], list[int]], width: int
) -> int:
    """Put torn cells of rows that are too long together where that is clear, and return the width of all rows.

    *uneven* are the indices in *body* of the long and the short rows. What was done, and what was not, is noted.
    """
    (long, short), file = uneven, section.file
    if grid.delimiter in {"spreadsheet", "HTML"}:
        return max([width, *(len(body[i]) for i in long)])
    rows = grid.numbers[section.body : section.end]
    if grid.delimiter == "comma" and parts_numbers(body, [*long, *short], long, width):
        raise decimal_commas(file, rows[long[0]], len(body[long[0]]), width)
    torn = TornCells([row for row in body if len(row) == width][:_SEARCHED], width, grid.delimiter) if long else None
    mended = {i: row for i in long if torn is not None and (row := torn.mended(body[i])) is not None}
    for i, row in mended.items():
        body[i] = row
    left = [i for i in long if i not in mended]
    if mended:
        section.notes.append(mended_rows([rows[i] for i in mended], file))
    if left:
        section.notes.append(long_rows([rows[i] for i in left], width, file))
    if short:
        section.notes.append(short_rows([rows[i] for i in short], width, file))
    return max([width, *(len(body[i]) for i in left)])


def _insert(
    middle: Middle, columns: Sequence[Sequence[str]], numbers: Sequence[int]
) -> tuple[list[Sequence[str]], Sequence[int]]:
    """Return the columns with the middle of a large file in its place, and the row numbers of all."""
    at, count = bisect_left(numbers, middle.first), len(middle)
    known = len(middle.columns)
    whole: list[Sequence[str]] = [*pack_around(middle.columns, columns[:known], at)]
    whole += [[*column[:at], *[""] * count, *column[at:]] for column in columns[known:]]
    rows = [*numbers[:at], *range(middle.first, middle.first + count), *numbers[at:]]
    return whole, range(rows[0], rows[-1] + 1) if rows[-1] - rows[0] + 1 == len(rows) else rows


def _stripped(column: Sequence[str]) -> Sequence[str]:
    """Return a column without blanks around its cells; most columns of a file have none, which one look tells."""
    if isinstance(column, PackedColumn):
        return column.stripped()
    joined = "".join(column)
    return column if joined.isascii() and not any(c in joined for c in _BLANKS) else list(map(str.strip, column))


def _suspects(body: list[list[str]], width: int, delimiter: str, title: str) -> Sequence[int]:
    """Return the rows that need a closer look: another width, an odd first cell or *title*, an empty second one."""
    if (delimiter != "comma" and len(body) < _SHORT) or width < 2:
        return range(len(body))
    even = set(map(len, body)) == {width}
    if even and _is_even([row[0] for row in body], [row[1] for row in body], title):
        return ()  # the usual case of a long clean table, told without a look at each row
    return [
        i
        for i, row in enumerate(body)
        if len(row) != width
        or row[0][:1] in _SUSPECT
        or not row[0]
        or not row[1]
        or row[0] == title
        or is_total(row[0].strip())
    ]
