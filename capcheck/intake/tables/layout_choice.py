"""What parts the cells of a text: of all delimiters, of fixed widths and of spaces, what makes the best table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

from msgspec import Struct

from capcheck.intake.files import (
    BLANK_RUN,
    DELIMITERS,
    Decoded,
    Grid,
    Rows,
    expect_cells,
    may_need_mending,
    mend_quotes,
    read_delimited,
    without_blank_runs,
    without_outer_quotes,
)
from capcheck.intake.tables.content import is_number, is_reference
from capcheck.intake.tables.header import find_header, header_cells
from capcheck.model import Note, say
from capcheck.values import InputError, Place, pattern

_QUOTE_AT_DELIMITER: Final = pattern(r'[,;\t|]"|"[,;\t|]')
_BOTH: Final = "tab and comma"
_MIXED: Final = 0.7
_SAMPLE_LINES: Final = 300
_SAMPLE_SIZE: Final = 200_000
"""Lines and characters of a text by which its layout is chosen."""
_REMARKS: Final = ("#", "//")


class _Layout(Struct, frozen=True):
    """One way of reading a text, with how much of a table it makes."""

    name: str
    read: Callable[[str], Rows]
    score: float
    top: float
    """The score that it has if all rows agree with its header; without a header none is good enough."""
    tried: Rows
    """What it made of the sample."""


def choose_layout(decoded: Decoded, file: str) -> Grid:
    """Return the rows of a text in the layout that makes the best table of it.

    Raises :class:`InputError` if no layout gives two columns, or a cell in quotes is beyond a limit.
    """
    text, wrapped = without_outer_quotes(decoded.text)
    sample = _sample(text)
    layouts = [_try(name, partial(_parted, mark), sample) for name, mark in DELIMITERS.items() if mark in sample]
    if "\t" in sample and "," in sample:
        layouts.append(_try(_BOTH, _parted_at_both, sample))
    best = max(layouts, key=lambda layout: layout.score, default=None)
    if best is None or best.score < 0.9 * best.top:
        from capcheck.intake.tables.fixed_width import read_columns, read_spaces

        layouts += [_try("fixed width", read_columns, sample), _try("spaces", read_spaces, sample)]
        best = max(layouts, key=lambda layout: layout.score)
    if best.score <= 0:
        raise InputError.at(
            file,
            "no table is found in this text",
            "no delimiter or column position parts its lines into the same columns",
            "send it as CSV with a header, one part a row",
        )
    read = best.tried if sample == text else best.read(text)
    if len(read.rows) - sum(map(any, read.rows)) > BLANK_RUN:
        grid = without_blank_runs(read.rows, read.numbers, best.name, file)
    else:
        grid = Grid(file, read.rows, read.numbers, best.name)
    grid.encoding = decoded.encoding
    grid.doubtful = read.doubtful
    quoted = [say("files.rows quoted whole", count=wrapped)] if wrapped else []
    grid.notes = [*decoded.notes, *(Note(said, Place(file)) for said in (*quoted, *read.notes))]
    return expect_cells(grid) if '"' in text else grid


def _sample(text: str) -> str:
    end = -1
    for _ in range(_SAMPLE_LINES):
        end = text.find("\n", end + 1)
        if end < 0 or end > _SAMPLE_SIZE:
            break
    return text if end < 0 else text[: min(end, _SAMPLE_SIZE)]


def _parted(delimiter: str, text: str) -> Rows:
    read = read_delimited(text, delimiter)
    return mend_quotes(read, text, delimiter, _usual_width(read.rows)) if may_need_mending(read, text) else read


def _parted_at_both(text: str) -> Rows:
    """Read a text in which tabs and commas both part cells."""
    return _parted(",", text.replace(",\t", ",").replace("\t,", ",").replace("\t", ","))


def _usual_width(rows: list[list[str]]) -> int:
    found = find_header(rows)
    if found is not None:
        return len(header_cells(rows[found[0]]))
    widths = Counter(len(row) for row in rows[:_SAMPLE_LINES] if len(row) > 1)
    return widths.most_common(1)[0][0] if widths else 0


def _try(name: str, read: Callable[[str], Rows], sample: str) -> _Layout:
    tried = read(sample)
    rows = tried.rows
    found = find_header(rows)
    score = _worth(rows, found) * _unbroken(rows, sample)
    if found is None and name == _BOTH:
        score *= _MIXED  # commas in names make columns too, and no header tells otherwise
    return _Layout(name, read, score, 1.0 + found[1] if found else float("inf"), tried)


def _unbroken(rows: Sequence[Sequence[str]], text: str) -> float:
    """Return a weight from 0.5 to 1: where cells hold a quote beside another delimiter, that one parts the cells.

    A cell that stands in the text quoted by the rule, its own quotes doubled, may hold what it likes.
    """

    def is_broken(cell: str) -> bool:
        return _QUOTE_AT_DELIMITER.search(cell) is not None and '"' + cell.replace('"', '""') + '"' not in text

    broken = sum(any(is_broken(cell) for cell in row if '"' in cell) for row in rows)
    return 1.0 - 0.5 * broken / max(len(rows), 1)


def _worth(rows: Sequence[Sequence[str]], found: tuple[int, int] | None) -> float:
    """Return how much of a table *rows* make, 0 if none; *found* is their header and its score, if there is one.

    It is the share of rows below the header that have its width, weighed by the titles that are known or, without a
    header, by the columns of references and numbers.
    """
    if found is not None:
        return _worth_below(rows[found[0]], rows[found[0] + 1 :], found[1])
    filled = [row for row in rows if any(row) and not row[0].lstrip().startswith(_REMARKS)]
    if not filled:
        return 0.0
    width, count = Counter(map(len, filled)).most_common(1)[0]
    if width < 2:
        return 0.0
    usual = [row for row in filled if len(row) == width][:100]
    kinds = sum(
        sum(map(test, (row[k].strip() for row in usual))) >= 0.8 * len(usual)
        for k in range(min(width, 40))
        for test in (is_number, is_reference)
    )
    return (count / len(filled)) ** 2 * (0.5 + min(kinds, 5))


def _worth_below(header: Sequence[str], rows: Sequence[Sequence[str]], known_titles: int) -> float:
    width = len(header_cells(header))
    below = [row for row in rows if any(c.strip() for c in row[:50])]
    below = [row for row in below if not row[0].lstrip().startswith((*_REMARKS, "--", "=="))]
    if not below:
        return 0.5 * known_titles
    agree = sum(abs(len(row) - width) <= (row[-1:] == [""]) for row in below) / len(below)
    # A header over rows of another width is a table still: what is wrong with it is said later, with its place.
    return max(agree, 0.02 * (width > 1)) * (1.0 + known_titles)
