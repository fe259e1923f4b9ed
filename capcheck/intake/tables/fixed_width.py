"""Text in columns by position: fixed widths, and cells parted by spaces.

A cell longer than its column pushes the rest of its line to the right; such lines are read too.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from functools import lru_cache
from itertools import pairwise
from typing import Final

import numpy as np

from capcheck.intake.files import Rows
from capcheck.intake.tables.content import is_number, is_reference
from capcheck.intake.tables.header import header_score
from capcheck.intake.tables.header_words import read_title
from capcheck.model import Flags, Ints
from capcheck.values import pattern

_TOKEN: Final = pattern(r'"[^"]*"(?=\s|$)|\S+')
_REMARK: Final = pattern(r"\s*(?:#|//|;|!|[-=*_]{3,}\s*$)")
_DIGITS: Final = pattern(r"\d+")
_COMMENT_MARK: Final = pattern(r"^(\s*)([#;!/*]+)")
_SEARCHED: Final = 120
_SAMPLE: Final = 200
_WIDEST: Final = 2000
_TOLERANCES: Final = (0.0, 0.02, 0.05, 0.1, 0.25)
"""Shares of lines that may run across a gutter: none first, then as many as a library with long names pushes aside."""


def _unquoted(cell: str) -> str:
    cell = cell.strip()
    return cell[1:-1] if len(cell) > 1 and cell[0] == cell[-1] == '"' else cell


def read_spaces(text: str) -> Rows:
    """Return the lines parted at spaces; text in quotes stays together, and so do the two words of a title."""
    rows = [[t.strip('"') for t in _TOKEN.findall(line)] for line in text.removesuffix("\n").split("\n")]
    counts = Counter(len(row) for row in rows if len(row) > 1)
    usual = counts.most_common(1)[0][0] if counts else 0
    for i, row in enumerate(rows[:_SEARCHED]):
        if len(row) > usual > 1 and header_score(row) > 1:
            rows[i] = _join_titles(row, usual)
    return Rows(rows, range(1, len(rows) + 1))


def _join_titles(row: list[str], count: int) -> list[str]:
    """Join titles of two words (``X centre``) until a header has *count* cells, where it can."""
    row = [t for t in row if t != "#"]
    i = 0
    while len(row) > count and i + 1 < len(row):
        second = read_title(row[i + 1])
        both = read_title(f"{row[i]} {row[i + 1]}")
        if second.concepts <= {"x", "y", "number", "name", "type", "side", "position"} and both.claims:
            row[i : i + 2] = [f"{row[i]} {row[i + 1]}"]
        i += 1
    return row


Spans = tuple[tuple[int, int], ...]
"""Where each column begins and ends."""


def read_columns(text: str) -> Rows:
    """Return the lines parted at the positions that are blank in all lines of the table, or in nearly all.

    In a line that runs across a gutter the words are dealt to the columns by kind and position.
    """
    lines = [
        line[:_WIDEST].expandtabs(8).rstrip() if "\t" in line else line[:_WIDEST].rstrip()
        for line in text.removesuffix("\n").split("\n")
    ]
    numbers = range(1, len(lines) + 1)
    header = _header_line(lines)
    body = _body(lines, header)
    if not body:
        return Rows([[line] if line else [] for line in lines], numbers)
    title = "" if header is None else _COMMENT_MARK.sub(lambda mark: " " * len(mark[0]), lines[header])
    sample = [lines[i] for i in body[:_SAMPLE]]
    layouts = _layouts([lines[i] for i in body], title)
    read = {spans: _read(sample, spans) for spans in layouts}
    spans = max(layouts, key=lambda spans: _quality(_cells(title, spans) if title else [], read[spans][0]))
    numeric = read[spans][1]
    table = {*body, header}
    rows = []
    doubtful: set[int] = set()
    for i, line in enumerate(lines):
        if header is not None and line == lines[header]:
            rows.append(_cells(title, spans))
        elif i not in table:
            rows.append([line] if line else [])
        elif _crosses(line, spans):
            rows.append(_deal(line, spans, numeric))
            if not _is_surely_dealt(rows[-1], line, numeric):
                doubtful.add(i + 1)
        else:
            cells = _cells(line, spans)
            rows.append([_unquoted(cell) for cell in cells] if '"' in line else cells)
    return Rows(rows, numbers, doubtful=doubtful)


def _is_surely_dealt(cells: list[str], line: str, numeric: list[bool]) -> bool:
    """Whether the numbers of a line pushed aside can stand in no other columns: as many as its columns of numbers."""
    numbers = sum(is_number(_unquoted(word)) for word in _TOKEN.findall(line))
    filled = sum(is_number(cell) for cell, of_numbers in zip(cells, numeric, strict=False) if of_numbers)
    return filled == sum(numeric) or numbers == filled


def _body(lines: list[str], header: int | None) -> list[int]:
    """Return the lines of the table below its header."""
    first = 0 if header is None else header + 1
    body = [i for i in range(first, len(lines)) if lines[i] and not _REMARK.match(lines[i])]
    if header is None:
        return _alike(lines, body)
    if lines.count(lines[header]) > 1:
        # What stands above the first page stands above the others too, but for its number.
        above = {_DIGITS.sub("", line) for line in lines[: header + 1]}
        return [i for i in body if _DIGITS.sub("", lines[i]) not in above]
    return body


def _header_line(lines: list[str]) -> int | None:
    """Return the line whose words claim the most roles, if they are at least three."""
    best, best_score = None, 2
    for i, line in enumerate(lines[:_SEARCHED]):
        words = [w for w in re.split(r"\s{2,}", line.strip().lstrip("#;!/* ")) if w]
        score = max(header_score(words), header_score(line.strip().lstrip("#;!/* ").split()))
        if score > best_score:
            best, best_score = i, score
    return best


def _alike(lines: list[str], body: list[int]) -> list[int]:
    """Leave out the lines of a preamble: with far fewer words than most, or without a number where most have one."""
    words = {i: _TOKEN.findall(lines[i]) for i in body}
    usual = Counter(map(len, words.values())).most_common(1)[0][0] if words else 0
    numbers = Counter(sum(map(is_number, w)) for w in words.values()).most_common(1)[0][0] if words else 0
    return [i for i, w in words.items() if len(w) >= max(2, usual - 2) and (not numbers or sum(map(is_number, w)) > 0)]


def _layouts(body: list[str], title: str) -> list[Spans]:
    """Return the layouts that are possible.

    Gutters are blank in all lines, in nearly all, or in those lines alone that no long cell has pushed aside.
    """
    width = max(map(len, [*body, title]))
    title = title.ljust(width)
    titled = np.array([c != " " for c in title], dtype=np.bool_)
    used = _used(body, width)
    cases = [(used, tolerance * len(body)) for tolerance in _TOLERANCES]
    cases += [(_used(lines, width), 0.0) for lines in _undisturbed(body)]
    found = [_spans((count <= allowed) & ~titled, count > allowed, title) for count, allowed in cases]
    return [spans for spans in dict.fromkeys(found) if spans]


def _used(body: list[str], width: int) -> Ints:
    """Return for each position the number of lines that have text there."""
    used = np.zeros(width, dtype=np.int64)
    for start in range(0, len(body), 2000):
        chunk = body[start : start + 2000]
        block = "".join(line.ljust(width) for line in chunk).encode("utf-32-le", errors="replace")
        used += (np.frombuffer(block, dtype=np.uint32).reshape(len(chunk), width) != ord(" ")).sum(axis=0)
    return used


def _undisturbed(body: list[str]) -> list[list[str]]:
    """Return groups of lines whose first number begins, or ends, at the same position: the leftmost and the largest.

    A name longer than its column pushes all behind it to the right, and half the names of a library may be so long.
    """
    starts: dict[int, list[str]] = {}
    ends: dict[int, list[str]] = {}
    for line in body[:2000]:
        number = next((m for m in _TOKEN.finditer(line) if m.start() and is_number(m[0])), None)
        if number is not None:
            starts.setdefault(number.start(), []).append(line)
            ends.setdefault(number.end(), []).append(line)
    found: list[list[str]] = []
    for groups in (ends, starts):
        likely = [(at, lines) for at, lines in groups.items() if len(lines) >= max(3, 0.03 * len(body[:2000]))]
        found += [lines for _, lines in sorted(likely, key=lambda g: g[0])[:3]]
        found += [lines for _, lines in sorted(likely, key=lambda g: -len(g[1]))[:2]]
    return found


def _spans(gutters: Flags, data: Flags, title: str) -> Spans:
    """Return the runs between gutters.

    A run without data or without a title that stands one blank behind another belongs to that one.
    """
    edges = np.flatnonzero(np.diff(np.concatenate(([True], gutters, [True])).astype(np.int8)))
    spans: list[tuple[int, int]] = []
    for start, end in zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True):
        if spans and start - spans[-1][1] == 1 and not title.isspace():
            lone_title = not data[start:end].any()
            untitled = not title[start:end].strip()
            if lone_title or untitled:
                spans[-1] = (spans[-1][0], end)
                continue
        spans.append((start, end))
    return tuple(spans)


def _cells(line: str, spans: Spans) -> list[str]:
    return [line[a:b].strip() for a, b in _cuts(spans)]


@lru_cache(maxsize=64)
def _cuts(spans: Spans) -> tuple[tuple[int, int | None], ...]:
    """Return where each cell begins and ends: at the beginning of its column and of the next one."""
    starts = [start for start, _ in spans]
    return tuple(zip([0, *starts[1:]], [*starts[1:], None], strict=True))


def _crosses(line: str, spans: Spans) -> bool:
    """Whether a line has text in a gutter between two columns."""
    return bool("".join([line[a:b] for a, b in _gaps(spans)]).strip())


@lru_cache(maxsize=64)
def _gaps(spans: Spans) -> Spans:
    """Return where each gutter between two columns begins and ends."""
    return tuple((a[1], b[0]) for a, b in pairwise(spans))


def _numeric(undisturbed: list[list[str]]) -> list[bool]:
    """Return for each column whether it holds numbers throughout, by the lines that no long cell pushes aside."""
    return [sum(map(is_number, column)) >= 0.9 * len(column) for column in zip(*undisturbed, strict=True)]


def _read(lines: list[str], spans: Spans) -> tuple[list[list[str]], list[bool]]:
    """Return the cells of each line, and which columns hold numbers throughout."""
    cells = [None if _crosses(line, spans) else _cells(line, spans) for line in lines]
    numeric = _numeric([row for row in cells if row is not None])
    rows = [_deal(line, spans, numeric) if row is None else row for line, row in zip(lines, cells, strict=True)]
    return rows, numeric


def _quality(header: list[str], rows: list[list[str]]) -> float:
    """Return how many titles are known and how many columns are of one kind."""
    kinds = 0.0
    for column in zip(*rows, strict=True):
        filled = [c for c in column if c]
        numeric = sum(map(is_number, filled))
        references = sum(map(is_reference, filled))
        kinds += max(numeric, references) >= 0.9 * len(filled) if len(filled) > 0.5 * len(column) else 0.1
    return header_score(header) + 0.5 * kinds


def _deal(line: str, spans: Spans, numeric: list[bool]) -> list[str]:
    """Deal the words of a line to the columns, in order: numbers to columns of numbers, and the rest by position.

    The cheapest deal is found by dynamic programming over words and columns.
    """
    words = [(m.start(), m.end(), _unquoted(m[0])) for m in _TOKEN.finditer(line)]
    count = len(spans)
    if not numeric:
        numeric = [False] * count
    if len(words) == count and all(is_number(w[2]) or not n for w, n in zip(words, numeric, strict=True)):
        return [w[2] for w in words]
    skipped = [400.0 if n else 0.0 for n in numeric]
    gaps = [0.0]
    for cost in skipped:
        gaps.append(gaps[-1] + cost)
    best: list[list[tuple[float, int]]] = []
    for i, (start, end, word) in enumerate(words):
        row: list[tuple[float, int]] = []
        misfit = 0.0 if is_number(word) else 300.0
        # Of the columns further left that which is cheapest for the words so far, without the gap up to this one.
        cheapest, by = math.inf, -1
        for j, (left, right) in enumerate(spans):
            own = max(0, left - end, start - right) + (misfit if numeric[j] else 0.0)
            if i == 0:
                row.append((own + gaps[j], -1))
                continue
            joined = best[-1][j][0] + (500.0 if numeric[j] else 2.0)
            row.append((own + joined, j) if joined < cheapest + gaps[j] else (own + cheapest + gaps[j], by))
            if (cost := best[-1][j][0] - gaps[j + 1]) < cheapest:
                cheapest, by = cost, j
        best.append(row)
    cells: list[list[str]] = [[] for _ in range(count)]
    if words:
        j = min(range(count), key=lambda k: best[-1][k][0] + gaps[count] - gaps[k + 1])
        for i in range(len(words) - 1, -1, -1):
            cells[j].insert(0, words[i][2])
            j = best[i][j][1]
    return [" ".join(cell) for cell in cells]
