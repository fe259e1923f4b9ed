"""Rows to tables: where each of a grid's tables begins, which rows are data, and why each other row is set aside."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from operator import itemgetter
from typing import Final

from msgspec import Struct, field

from capcheck.intake.files import Grid
from capcheck.intake.tables.content import decimal_mark, is_number, is_reference
from capcheck.intake.tables.continued import is_below_a_size, states_more_of
from capcheck.intake.tables.fitted import is_not_fitted_title, may_head_a_variant
from capcheck.intake.tables.header import find_header, find_unknown_header, header_cells, header_score
from capcheck.intake.tables.header_units import titles_with_units
from capcheck.intake.tables.named_parts import names_a_part, parts_named
from capcheck.intake.tables.ragged import TornCells, decimal_commas, parts_numbers, rows_standing_aside, stand_elsewhere
from capcheck.intake.tables.remarks import COMMENT, TITLE, is_total, names_columns_anew, why_aside
from capcheck.intake.tables.table import Table
from capcheck.model import Note, Said, SetAside, say
from capcheck.values import Place, pattern

_WIDEST: Final = 1000
_LONGEST_TEXT: Final = 200
_SAMPLE: Final = 120
"""Rows of the usual width that show what the columns hold."""
_FAR_TOO_LONG: Final = 50
"""Cells beyond the header's from which a row is no row of the table."""
_SHORT: Final = 2000
"""Rows of a table short enough to look at each."""
_SUSPECT: Final = frozenset("#/;!*-=_~+ \t")
"""First letters of rows that may be a remark."""
_FEW: Final = 3
"""Cells that a remark with a few delimiters in it makes."""
_NEVER_A_PART: Final = frozenset(("tables.blank row", "tables.header", "tables.header repeated", "tables.units"))
_BLANKS: Final = " \t\n\r\x0b\x0c\x1c\x1d\x1e\x1f"
_DIGITS: Final = pattern(r"\d+")


class _Section(Struct):
    """Rows start to end of a grid, the index of the header (or None) and the first row of data; then what is found."""

    grid: Grid
    start: int
    end: int
    header: int | None
    body: int
    title: str | None = None
    preamble: list[tuple[int, str]] = field(default_factory=list)
    titles: list[tuple[int, str]] = field(default_factory=list)
    headings: list[tuple[int, str]] = field(default_factory=list)
    """Rows that may head those below them, or go on with the one above."""
    set_aside: list[SetAside] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)

    def put_aside(self, at: int, why: Said) -> tuple[int, str]:
        """Set a row of the grid aside, and return its row in the file and its text."""
        row, cells = self.grid.numbers[at], self.grid.rows[at]
        place, text = Place(self.grid.file, row, sheet=self.grid.sheet), row_text(cells)
        filled = why is COMMENT and sum(map(bool, map(str.strip, cells))) >= max(_FEW, 0.5 * self.width)
        if why is TITLE and not filled:
            filled = names_a_part("".join(cells).strip()) or is_below_a_size(cells, self.titles_of_columns)
        refs = () if why.key in _NEVER_A_PART else parts_named(cells)
        self.set_aside.append(SetAside(place, why, text, refs, filled))
        return row, text

    @property
    def titles_of_columns(self) -> list[str]:
        """The header's cells."""
        return [] if self.header is None else header_cells(self.grid.rows[self.header])

    @property
    def width(self) -> int:
        """How many titles there are."""
        return len(self.titles_of_columns)

    def note(self, key: str, at: Sequence[int], width: int = 0) -> None:
        """Note what was done with some rows of the body, given by their place in it."""
        if at:
            rows = [self.grid.numbers[self.body + i] for i in at]
            self.notes.append(Note(say(key, rows=[*map(str, rows)], width=width), Place(self.grid.file, rows[0])))


def lay_out(grid: Grid) -> list[Table]:
    """Return the tables that stand in a grid, one below another; usually one.

    A second header below the data begins a second table if it differs, or if a title stands above it.
    """
    return [_table(section, first=k == 0) for k, section in enumerate(_sections(grid))] if grid.rows else []


def _reads_like_data(row: Sequence[str]) -> bool:
    """Whether a row has a reference and two numbers, as a placement has."""
    cells = [cell.strip() for cell in row[:_WIDEST] if cell.strip()]
    return sum(map(is_number, cells)) > 1 and any(map(is_reference, cells))


def row_text(row: Sequence[str]) -> str:
    """Return a row as one line for a report, cut to a length that can be read."""
    text = " ".join(" ".join(cell.split()) for cell in row[:50] if cell)
    return text if len(text) <= _LONGEST_TEXT else text[:_LONGEST_TEXT] + "…"


def _sections(grid: Grid) -> list[_Section]:
    rows = grid.rows
    known = find_header(rows)
    if known is None:
        unknown = find_unknown_header(rows)
        if unknown is None:
            return [_Section(grid, 0, len(rows), None, 0)]
        index, is_header = unknown
        if not is_header:
            # A row of another width above the first usual one is data too if it reads like it.
            index = next((i for i in range(index) if _reads_like_data(rows[i])), index)
        return [_Section(grid, 0, len(rows), index if is_header else None, index + is_header)]
    at, score = known
    sections = [_Section(grid, 0, len(rows), at, at + 1)]
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
        sections.append(_Section(grid, start, len(rows), i, i + 1, title or f"from row {i + 1}"))
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


def _table(section: _Section, *, first: bool) -> Table:
    """Return the table of a section; what is said of the whole grid is said with its *first* table."""
    grid = section.grid
    header = _header(section)
    body, body_numbers, width = _sort_rows(section, header)
    if header:
        header += [""] * (width - len(header))
    columns = [_stripped(list(map(itemgetter(k), body))) for k in range(width)]
    while len(columns) > 1 and not (header and header[-1]) and not any(columns[-1]):
        columns.pop()
        del header[len(columns) :]
    comments = _comments_on_titles(section, body_numbers)
    section.set_aside += [SetAside(Place(grid.file), say("files.said on a cell"), text) for _, text in comments]
    section.notes += [
        Note(say("files.comment on a title", text=text), Place(grid.file, number, sheet=grid.sheet))
        for number, text in comments
    ]
    aside = sorted((grid.set_aside if first else []) + section.set_aside, key=lambda a: a.place.row or 0)
    return Table(
        file=grid.file,
        sheet=" / ".join(part for part in (grid.sheet, section.title) if part) or None,
        header=tuple(header),
        header_row=None if section.header is None else grid.numbers[section.header],
        columns=columns,
        row_numbers=body_numbers,
        preamble=tuple(section.preamble),
        titles=tuple(section.titles),
        set_aside=tuple(aside),
        encoding=grid.encoding,
        delimiter=grid.delimiter,
        decimal=decimal_mark(columns),
        notes=tuple((_without_titles(grid, section) if first else []) + section.notes),
        total_rows=len(body_numbers) + len(aside),
        asked=_asked(section, body_numbers),
        hidden_columns=frozenset(grid.hidden_columns),
        doubtful=frozenset(section.grid.doubtful & set(body_numbers)) if section.grid.doubtful else frozenset(),
        continued=frozenset(section.grid.continued),
    )


def _comments_on_titles(section: _Section, numbers: Sequence[int]) -> list[tuple[int, str]]:
    """Return the comments on rows that are no part's, such as the header, with their rows."""
    if not section.grid.comments:
        return []
    own = set(section.grid.numbers[section.start : section.end]).difference(numbers)
    return [(number, text) for number, texts in section.grid.comments.items() if number in own for text in texts]


def _without_titles(grid: Grid, section: _Section) -> list[Note]:
    """Return the notes on a grid, those on coloured rows without the titles and what stands above them.

    Titles in a colour of their own are no rows that somebody set apart.
    """
    if section.header is None:
        return grid.notes
    titles = {str(number) for number in grid.numbers[: section.header + 1]}
    kept = []
    for note in grid.notes:
        values = note.said.values if isinstance(note.said, Said) and note.said.key == "files.coloured rows" else {}
        told = values.get("rows")
        if not isinstance(told, list):
            kept.append(note)
        elif rows := [row for row in told if row not in titles]:
            said = say("files.coloured rows", colour=values["colour"], count=len(rows), rows=rows)
            kept.append(Note(said, Place(grid.file, int(rows[0]))))
    return kept


def _asked(section: _Section, numbers: Sequence[int]) -> Mapping[int, Said]:
    """Return the rows of which it is open whether they count, by their form or by a title of a variant above them."""
    told = [(section.grid.numbers[section.start], section.title or ""), *sorted((*section.titles, *section.headings))]
    asked: dict[int, Said] = {}
    for (row, text), after in zip(told, [*(row for row, _ in told[1:]), math.inf], strict=True):
        if text and (is_not_fitted_title(text) or may_head_a_variant(text)):
            said = say("tables.below a title", title=text.strip(" :#/;")[:80])
            asked |= {number: said for number in numbers if row < number < after}
    formed = section.grid.asked
    every = (*numbers, *(row for row, _ in section.titles)) if formed else ()
    header = None if section.header is None else formed.get(section.grid.numbers[section.header])
    hidden = say("tables.hidden titles") if header is not None and header.key == "files.hidden row" else None
    by_form = ((number, formed.get(number, hidden)) for number in every)
    return asked | {number: said for number, said in by_form if said is not None}


def _header(section: _Section) -> list[str]:
    """Return the titles, with the units that stand in a row below; these rows and those above are set aside."""
    rows = section.grid.rows
    for i in range(section.start, section.body if section.header is None else section.header):
        blank = not row_text(rows[i])
        place = section.put_aside(i, say("tables.blank row") if blank else say("tables.before the header"))
        if not blank:
            section.preamble.append(place)
    if section.header is None:
        return []
    header = header_cells(rows[section.header])
    while header and not header[-1]:
        header.pop()
    section.put_aside(section.header, say("tables.header"))
    titled = titles_with_units(header, rows[section.body] if section.body < section.end else [])
    if titled is None:
        return header
    section.put_aside(section.body, say("tables.units"))
    section.body += 1
    return titled


def _sort_rows(section: _Section, header: list[str]) -> tuple[list[list[str]], Sequence[int], int]:
    """Part the rows below the header into data, all of one width, and rows set aside."""
    body = section.grid.rows[section.body : section.end]
    numbers = section.grid.numbers[section.body : section.end]
    width = len(header) or (Counter(map(len, body)).most_common(1)[0][0] if body else 0)
    width = width or max(map(len, body), default=0)
    header_row = section.grid.rows[section.header] if section.header is not None else []
    dropped: set[int] = set()
    long: list[int] = []
    short: list[int] = []
    for i in _suspects(body, width, section.grid.delimiter, header_row[0] if header_row else ""):
        row = body[i]
        if i and i - 1 not in dropped and states_more_of(body[i - 1], row, header):
            place = section.put_aside(section.body + i, say("tables.goes on", row=numbers[i - 1]))
            section.grid.continued.add(numbers[i - 1])
            if is_not_fitted_title(place[1]):
                section.headings.append(place)
            dropped.add(i)
        elif why := _why_no_data(row, header_row, width):
            place = section.put_aside(section.body + i, why)
            if why is COMMENT and len(dropped) == i:
                # Remarks between header and data often state the units.
                section.preamble.append(place)
            heads = why is COMMENT and (is_not_fitted_title(place[1]) or may_head_a_variant(place[1]))
            if why is TITLE or heads:
                section.titles.append(place)
            dropped.add(i)
        elif any(map(str.strip, row[width:])):
            long.append(i)
        elif len(row) < width:
            short.append(i)
    full = _even_out(section, body, (long, short), width)
    if dropped:
        kept = [i for i in range(len(body)) if i not in dropped]
        body, numbers = [body[i] for i in kept], [numbers[i] for i in kept]
    if set(map(len, body)) != {full}:
        body = [row if len(row) == full else (row + [""] * (full - len(row)))[:full] for row in body]
    return body, numbers, full


def _why_no_data(row: list[str], header: list[str], width: int) -> Said | None:
    if header and row == header:
        return say("tables.header repeated")
    if why := why_aside(row, width):
        return why
    if names_columns_anew(row, header):
        return TITLE
    if len(row) > width + _FAR_TOO_LONG and any(map(str.strip, row[width:])):
        return say("tables.far too long", cells=len(row), width=width)
    return None


def _even_out(section: _Section, body: list[list[str]], uneven: tuple[list[int], list[int]], width: int) -> int:
    """Put torn cells of rows that are too long together where that is clear, and return the width of all rows.

    *uneven* are the indices in *body* of the long and the short rows. What was done, and what was not, is noted.
    """
    (long, short), delimiter = uneven, section.grid.delimiter
    if delimiter in {"spreadsheet", "HTML"}:
        return max([width, *(len(body[i]) for i in long)])
    if delimiter == "comma" and parts_numbers(body, [*long, *short], long, width):
        place = Place(section.grid.file, section.grid.numbers[section.body + long[0]])
        raise decimal_commas(place, len(body[long[0]]), width)
    mended: dict[int, list[str]] = {}
    doubtful: list[int] = []
    if long or short:
        torn = TornCells([row for row in body if len(row) == width][:_SAMPLE], width, delimiter)
        for i in long:
            row, sure = torn.mended(body[i])
            if row is not None:
                mended[i] = row
            if not sure:
                doubtful.append(i)
        # Where a program leaves out empty cells at the end of most rows, those show what the columns hold.
        usual = Counter(map(len, body)).most_common(1)[0][0]
        sample = [row for row in body if len(row) == usual][:_SAMPLE]
        if 1 < usual < width:
            torn = TornCells(sample, usual, delimiter)
        header = section.grid.rows[section.header] if section.header is not None else []
        displaced = usual < width and stand_elsewhere(header, sample)
        doubtful += [i for i in short if displaced or torn.may_have_shifted(body[i])]
    for i, row in mended.items():
        body[i] = row
    aside = rows_standing_aside(body, width)
    section.grid.doubtful.update(section.grid.numbers[section.body + i] for i in (*doubtful, *aside))
    left = [i for i in long if i not in mended]
    section.note("tables.torn cells", list(mended))
    section.note("tables.long rows", left, width)
    section.note("tables.short rows", short, width)
    section.note("tables.cells aside", aside)
    return max([width, *(len(body[i]) for i in left)])


def _stripped(column: Sequence[str]) -> Sequence[str]:
    """Return a column without blanks around its cells; most columns of a file have none, which one look tells."""
    joined = "".join(column)
    return column if joined.isascii() and not any(c in joined for c in _BLANKS) else list(map(str.strip, column))


def _suspects(body: list[list[str]], width: int, delimiter: str, title: str) -> Sequence[int]:
    """Return the rows that need a closer look: another width, an odd first cell or *title*, an empty second one."""
    if (delimiter != "comma" and len(body) < _SHORT) or width < 2:
        return range(len(body))
    return [
        i
        for i, row in enumerate(body)
        if len(row) != width
        or row[0][:1] in _SUSPECT
        or not row[0]
        or not row[1]
        or (not row[-1] and sum(map(bool, row)) < _FEW)
        or row[0] == title
        or is_total(row[0].strip())
    ]
