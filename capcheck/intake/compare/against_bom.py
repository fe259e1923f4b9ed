"""Placements against the bill of materials: what is in one and not in the other, counted or named twice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import repeat
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.intake.compare.part_numbers import check_part_numbers
from capcheck.intake.tables import FittedColumn
from capcheck.model import BomLine, Codes, Discrepancy, Flags, Floats, Ints, Kind, Severity, Topic
from capcheck.values import Place, shortened

_SAME_SPOT_MM: Final = 0.05


class Joined(Struct, frozen=True):
    """The placements joined to the BOM: *line* is each row's BOM line or −1."""

    line: Ints
    duplicate_line: Flags
    """Placements whose reference stands on more than one BOM line."""
    twice: bool
    """Whether any reference does, placed or not."""
    complete: bool
    """Whether every reference of the BOM is known to be placed."""


def join(base: Sequence[str], lines: Sequence[BomLine], *, unique: bool) -> Joined:
    """Return each placement's BOM line, by its reference as written, else whatever its case.

    Of several lines the fitted one is taken. *unique* says that no two placements share a reference.
    """
    line_of: dict[str, int] = {}
    for number, line in enumerate(lines):
        line_of.update(dict.fromkeys(line.refs, number))
    twice: set[str] = set()
    if len(line_of) < sum(len(line.refs) for line in lines):
        line_of, twice = _preferred(lines)
    index = np.fromiter(map(line_of.get, base, repeat(-1)), dtype=np.int64, count=len(base))
    missing = np.flatnonzero(index < 0)
    if len(missing):
        upper = {ref.upper(): number for ref, number in line_of.items()}
        for i in missing.tolist():
            index[i] = upper.get(base[i].upper(), -1)
    if twice:
        duplicate = np.fromiter((ref in twice for ref in base), dtype=np.bool_, count=len(base))
    else:
        duplicate = np.zeros(len(base), dtype=np.bool_)
    return Joined(index, duplicate, bool(twice), unique and int((index >= 0).sum()) == len(line_of))


def _preferred(lines: Sequence[BomLine]) -> tuple[dict[str, int], set[str]]:
    """Return the line of each reference, the fitted one before others, and the references on several lines."""
    line_of: dict[str, int] = {}
    twice: set[str] = set()
    for number, line in enumerate(lines):
        for ref in line.refs:
            before = line_of.setdefault(ref, number)
            if before != number:
                twice.add(ref)
                if line.fitted and not lines[before].fitted:
                    line_of[ref] = number
    return line_of, twice


class FittedByBoth(Struct, frozen=True):
    """What is fitted by the placements and the BOM together; where their columns contradict each other a part is.

    *by_bom* are the parts that the BOM calls fitted and the placements not, *by_placements* the reverse. *by_word*
    are parts that only a word of the placements takes off the board: they stay off.
    """

    fitted: Flags
    by_bom: Flags
    by_placements: Flags
    by_word: Flags

    def without(self, off: Flags) -> FittedByBoth:
        """Return the same with the rows *off* not fitted and settled, as board.toml can state."""
        return FittedByBoth(self.fitted & ~off, self.by_bom & ~off, self.by_placements & ~off, self.by_word & ~off)


def fitted_by_both(files: Sequence[FittedColumn], joined: Joined | None, lines: Sequence[BomLine]) -> FittedByBoth:
    """Return which placements are fitted by the placement *files* and the BOM *lines*.

    Only what a cell says in words contradicts: a source that says nothing of a part agrees with the other.
    """
    fitted = np.concatenate([f.fitted for f in files])
    none = np.zeros(len(fitted), dtype=np.bool_)
    if joined is None or not lines:
        return FittedByBoth(fitted, none, none, none)
    stated, worded = (
        np.concatenate([np.zeros(len(f.fitted), dtype=np.bool_) if told is None else told for f, told in column])
        for column in ([(f, f.stated) for f in files], [(f, f.by_word) for f in files])
    )
    by_line = np.array([*(line.fitted for line in lines), True], dtype=np.bool_)[joined.line]
    said = np.array([*(line.stated_fitted and line.fitted for line in lines), False], dtype=np.bool_)[joined.line]
    by_bom, by_placements = ~fitted & ~worded & said, fitted & stated & ~by_line
    return FittedByBoth((fitted & by_line) | by_bom | by_placements, by_bom, by_placements, worded & said)


def fitted_or_not(rows: Rows, both: FittedByBoth) -> list[Discrepancy]:
    """Return what the placements and the BOM contradict each other about: a record for each way."""
    ways: tuple[tuple[Flags, str, Severity], ...] = (
        (both.by_bom, "fitted by the BOM, not fitted by the placements; taken as fitted: which holds?", Severity.STOP),
        (
            both.by_placements,
            "fitted by the placements, not fitted by the BOM; taken as fitted: which holds?",
            Severity.STOP,
        ),
        (
            both.by_word,
            "fitted by the BOM, not fitted by a word in the placements; taken as not fitted",
            Severity.ASSUMED,
        ),
    )
    found = []
    for disputed, said, severity in ways:
        which = np.flatnonzero(disputed & (rows.kind == Kind.PART)).tolist()
        if which:
            refs = tuple(dict.fromkeys(rows.ref[i] for i in which))
            file, row = rows.where(which[0])
            found.append(
                Discrepancy(Topic.FITTED_OR_NOT, f"{shortened(refs)}: {said}", refs, Place(file, row), severity)
            )
    return found


class Rows(Struct, frozen=True):
    """The placements as reconciliation needs them, columns of equal length; coordinates in mm."""

    ref: Sequence[str]
    base: Sequence[str]
    x: Floats
    y: Floats
    side: Codes
    kind: Codes
    fitted: Flags
    file: Ints
    row: Ints
    files: Sequence[str]

    def where(self, i: int) -> tuple[str, int]:
        """Return the file and row of placement *i*."""
        return self.files[int(self.file[i])], int(self.row[i])


def reconcile(rows: Rows, joined: Joined | None, lines: Sequence[BomLine] | None, circuits: int) -> list[Discrepancy]:
    """Return what disagrees between the placements and the BOM, the gravest first; no BOM, no such comparison."""
    found: list[Discrepancy] = []
    if lines is not None and joined is not None:
        found += _not_in_bom(rows, joined)
        found += [] if joined.complete else _not_placed(rows, lines)
        found += _on_two_lines(lines) if joined.twice else []
        found += _quantities(lines, circuits)
        found += _fitted_against_texts(rows, lines)
        found += check_part_numbers(lines)
    return found


def _not_in_bom(rows: Rows, joined: Joined) -> list[Discrepancy]:
    missing = np.flatnonzero((joined.line < 0) & (rows.kind == Kind.PART) & rows.fitted)
    if not len(missing):
        return []
    refs = tuple(dict.fromkeys(rows.ref[i] for i in missing.tolist()))
    file, row = rows.where(int(missing[0]))
    message = f"{shortened(refs)}: in the placements but not in the BOM; fit or not fit, and which part?"
    return [Discrepancy(Topic.NOT_IN_BOM, message, refs, Place(file, row), Severity.STOP)]


def _not_placed(rows: Rows, lines: Sequence[BomLine]) -> list[Discrepancy]:
    """Report BOM references without a placement: through-hole and mechanical parts are expected among them."""
    known = set(rows.base)
    upper: set[str] | None = None
    missing: dict[str, tuple[BomLine, list[str]]] = {}
    for line in lines:
        if not line.fitted:
            continue
        absent = [r for r in line.refs if r not in known]
        if absent:
            upper = upper if upper is not None else {r.upper() for r in known}
            absent = [r for r in absent if r.upper() not in upper]
        if absent:
            name = line.part_number or line.value or line.description or line.package
            missing.setdefault(name, (line, []))[1].extend(absent)
    return [
        Discrepancy(
            Topic.NOT_PLACED,
            f"{shortened(absent)} ({name}): in the BOM but not in the placements; by hand, or coordinates missing?",
            tuple(absent),
            Place(line.file, line.row),
            Severity.ASSUMED,
        )
        for name, (line, absent) in missing.items()
    ]


def _on_two_lines(lines: Sequence[BomLine]) -> list[Discrepancy]:
    first: dict[str, int] = {}
    pairs: dict[tuple[int, int], list[str]] = defaultdict(list)
    for number, line in enumerate(lines):
        for ref in line.refs:
            before = first.setdefault(ref, number)
            if before != number and _is_counted((ref,)):  # a word, such as screws, may stand on many
                pairs[before, number].append(ref)
    found = []
    for (a, b), both in pairs.items():
        one, two = lines[a], lines[b]
        if one.fitted != two.fitted:
            places = f"{_place(one)} and {_place(two)}"
            message = f"{shortened(both)}: fitted by one line of the BOM and not fitted by another ({places})"
        else:
            names = f"{one.part_number or one.value} and {two.part_number or two.value}"
            message = f"{shortened(both)}: on two lines of the BOM ({_place(one)} and {_place(two)}: {names})"
        found.append(Discrepancy(Topic.ON_TWO_BOM_LINES, message, tuple(both), Place(two.file, two.row), Severity.STOP))
    return found


def _fitted_against_texts(rows: Rows, lines: Sequence[BomLine]) -> list[Discrepancy]:
    """Return one advice on all lines whose fitted column says fitted and whose texts say not fitted."""
    against = [line for line in lines if line.contradicted and line.fitted]
    if not against:
        return []
    # What the placements take off the board as well is no longer fitted by the column.
    off = {rows.base[i] for i in np.flatnonzero(~rows.fitted).tolist()}
    refs = tuple(ref for line in against for ref in line.refs if ref not in off)
    if not refs:
        return []
    first = next(line for line in against if refs[0] in line.refs)
    said = "fitted by the column of the BOM, not fitted by a text of the line; the column is taken"
    message = f"{shortened(refs)}: {said}"
    return [Discrepancy(Topic.FITTED_AGAINST_A_TEXT, message, refs, Place(first.file, first.row), Severity.ADVICE)]


def _place(line: BomLine) -> str:
    return f"{line.file}{f'[{line.sheet}]' if line.sheet else ''}:{line.row}"


def _quantities(lines: Sequence[BomLine], circuits: int) -> list[Discrepancy]:
    counted = [line for line in lines if line.quantity is not None and line.fitted and _is_counted(line.refs)]
    wrong = [line for line in counted if line.quantity not in {len(line.refs), len(line.refs) * circuits}]
    if not wrong:
        return []
    ratios = {line.quantity / len(line.refs) for line in counted if line.quantity is not None}
    if len(ratios) == 1 and len(counted) > 2:
        ratio = ratios.pop()
        line = counted[0]
        message = (
            f"every quantity is {ratio:g} times the references: taken as the quantity of the order, not of one board"
        )
        return [Discrepancy(Topic.QUANTITY_OF_THE_ORDER, message, (), Place(line.file), Severity.ASSUMED)]
    return [
        Discrepancy(
            Topic.QUANTITY,
            f"the quantity says {line.quantity:g}, the line lists {len(line.refs)}",
            line.refs,
            Place(line.file, line.row),
            Severity.STOP,
        )
        for line in wrong
    ]


def _is_counted(refs: Sequence[str]) -> bool:
    """Whether a line's references can be counted: one name in words, such as ``feet``, stands for several."""
    return len(refs) > 1 or (len(refs) == 1 and " " not in refs[0] and any(map(str.isdigit, refs[0])))


def same_spot(rows: Rows) -> list[Discrepancy]:
    """Return the groups of parts on one side whose centres lie within 0.05 mm: alternates, of which one is fitted."""
    use = np.flatnonzero(np.isfinite(rows.x) & np.isfinite(rows.y) & (rows.kind == Kind.PART))
    if len(use) < 2:
        return []
    pairs: set[tuple[int, int]] = set()
    # Two points within one step of each other share a cell of at least one of four half-shifted grids of two steps.
    for dx, dy in ((0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.5, 0.5)):
        u = np.floor(rows.x[use] / (2 * _SAME_SPOT_MM) + dx).astype(np.int64)
        v = np.floor(rows.y[use] / (2 * _SAME_SPOT_MM) + dy).astype(np.int64)
        key = (u * 2_000_003 + v) * 3 + rows.side[use]
        ordered = np.sort(key)
        if not np.any(ordered[1:] == ordered[:-1]):
            continue
        order = np.argsort(key, kind="stable")
        same = np.flatnonzero(key[order][1:] == key[order][:-1])
        for at in same[:10_000]:
            a, b = sorted((int(use[order[at]]), int(use[order[at + 1]])))
            if np.hypot(rows.x[a] - rows.x[b], rows.y[a] - rows.y[b]) < _SAME_SPOT_MM and rows.side[a] == rows.side[b]:
                pairs.add((a, b))
    found = []
    for a, b in sorted(pairs):
        if rows.ref[a] == rows.ref[b]:
            continue  # said already: one reference twice
        both = bool(rows.fitted[a] and rows.fitted[b])
        ending = "both are fitted; which one is meant?" if both else "alternates, of which one is fitted"
        file, row = rows.where(b)
        message = f"{rows.ref[a]} and {rows.ref[b]} lie at one spot: {ending}"
        found.append(
            Discrepancy(
                Topic.ONE_SPOT,
                message,
                (rows.ref[a], rows.ref[b]),
                Place(file, row),
                Severity("stop" if both else "advice"),
            )
        )
    return found
