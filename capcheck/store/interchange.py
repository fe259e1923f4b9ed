"""The store's parts as a package library in CSV and back: the form in which they go to a repository or another shop."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from capcheck.packages import LIBRARY_KEYS, Entry, load_library
from capcheck.store.records import COUNTS, EVERYONE, FIELDS, UNITS, Figure, Given, PartKey, Scope, Statement, Value
from capcheck.values import Interval, Place, Problems, harmless

_TITLES: Final = {"oriented": "length along x"}
_FREE: Final = ("source", "note")


def statements_of_file(path: str | Path, given: Given, scope: Scope = EVERYONE) -> list[Statement]:
    """Return what the rows of a package library state, each with its row; *given* says who brings it and when.

    A row of references holds for the board that it names, or for the scope's. Raises
    :class:`~capcheck.values.InputError` with every fault of the file.
    """
    library = load_library(path)
    problems = Problems()
    found: list[Statement] = []
    for entry in library.entries:
        if entry.references and not (entry.board or scope.board):
            problems.add(
                Place(str(path), int(entry.where.rpartition(":")[2])),
                "names references and no board",
                "another board's part of the same reference would take its body",
                "fill in the column board, or name the board: --board NAME",
            )
            continue
        found.extend(_statements(entry, given, scope))
    problems.raise_if_any()
    return found


def _statements(entry: Entry, given: Given, scope: Scope) -> list[Statement]:
    values = {field: value for field in FIELDS if (value := getattr(entry.candidate, field)) is not None}
    if not values["oriented"]:
        # A row without a word on it says nothing of how the body lies.
        del values["oriented"]
    said = Given(given.who, given.when, given.source, entry.where, given.link)
    if not entry.references:
        return [Statement(PartKey(entry.part_number, entry.footprint, entry.value), values, said, scope)]
    of_board = Scope(scope.customer, entry.board or scope.board)
    # A part that looks like a list stands among the references whole, beside what it could be read as.
    return [
        Statement(PartKey(entry.part_number, entry.footprint, entry.value, reference), values, said, of_board)
        for reference in entry.references
    ]


def as_csv(figures: Sequence[Figure], scope: Scope = EVERYONE) -> tuple[str, int]:
    """Return the figures that stand for *scope* as the text of a package library, and how many are of other scopes.

    For everyone, the references of boards go with them: their rows name the board. A measure without an upper bound
    has no form in a library, so it counts as left out.
    """
    kept: dict[tuple[object, ...], list[Figure]] = {}
    left_out = 0
    for figure in figures:
        of_board = scope == EVERYONE and bool(figure.key.reference) and not figure.scope.customer
        is_written = figure.scope == scope or of_board
        if is_written and not (isinstance(figure.value, Interval) and math.isinf(figure.value.high)):
            kept.setdefault((figure.key.compared, figure.scope), []).append(figure)
        else:
            left_out += 1
    rows = [_row(some) for some in kept.values()]
    titles = [title for title in (*LIBRARY_KEYS, *map(_titled, FIELDS), *_FREE) if any(row.get(title) for row in rows)]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(titles or LIBRARY_KEYS)
    writer.writerows([harmless(row.get(title, "")) for title in titles] for row in sorted(rows, key=_order))
    return out.getvalue(), left_out


def _order(row: dict[str, str]) -> tuple[str, ...]:
    return tuple(row.get(key, "") for key in LIBRARY_KEYS)


def _titled(field: str) -> str:
    name = _TITLES.get(field, field.replace("_", " "))
    return f"{name} [{UNITS[field]}]" if field in UNITS else name


def _row(figures: Sequence[Figure]) -> dict[str, str]:
    key, scope = figures[0].key, figures[0].scope
    keys = (key.part_number, key.footprint, key.value, key.reference, scope.board if key.reference else "")
    row = dict(zip(LIBRARY_KEYS, keys, strict=True))
    row |= {_titled(figure.field): cell_of(figure.field, figure.value) for figure in figures}
    said = dict.fromkeys(f"{f.given.source} by {f.given.who}, {f.given.date}" for f in figures)
    links = dict.fromkeys(f.given.link for f in figures if f.given.link)
    return {**row, "source": "; ".join((*said, *links))}


def cell_of(field: str, value: Value) -> str:
    """Return a figure as a cell of a library whose title has the unit: ``1.2``, ``1 to 1.2``, ``max 1.2``, ``yes``."""
    if isinstance(value, Interval):
        low, high = (f"{end:.12g}" for end in (value.low, value.high))
        if math.isinf(value.high):
            return f"min {low}"
        return high if value.is_exact else f"max {high}" if value.low == 0 else f"{low} to {high}"
    if field in COUNTS:
        return str(value)
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)
