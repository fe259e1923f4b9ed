"""Questions that hold an order back: decisions that are open, parts without a side or a place."""

from __future__ import annotations

from collections.abc import Collection, Container, Iterable, Iterator, Sequence
from pathlib import PurePath
from typing import Final

import numpy as np
from msgspec.structs import replace

from capcheck.intake.placements import PlacementColumns, doubted_titles, with_starts
from capcheck.intake.tables import (
    REFERENCE,
    is_about_data,
    listed_count,
    references_in,
    says_not_fitted,
    sheet_is_not_fitted,
    speaks_of_all,
    speaks_of_panel,
    unit_in_line,
)
from capcheck.model import BomLine, Decision, Discrepancy, Kind, Placements, Said, SetAside, Severity, Side, Topic, say
from capcheck.values import Place, pattern

_DATED: Final = pattern(r"(?<!\d)(?:\d{4}[-./]\d{1,2}[-./]\d{1,2}|\d{1,2}[-./]\d{1,2}[-./](?:\d\d){1,2})(?!\d)")
_WORD: Final = pattern(r"[^\W\d_]{3}|[^\W\d_a-zA-Z]")
"""Something that is said: a word, in Chinese of one sign."""
_REMARKS: Final = frozenset(
    (
        "tables.before the header",
        "tables.comment",
        "tables.title",
        "tables.total or end mark",
        "bom.about the document",
        "bom.row of a sheet",
        "files.said on a cell",
        "files.said beside the cells",
    )
)
_BESIDE: Final = "find.beside the lists"
_REPEATED: Final = frozenset(("bom.repeating sheet", "bom.repeating table"))
"""Rows that say again what another list says; only where they take a part off the board do they say more."""
_OF_AN_INCH: Final = frozenset(("in", "inch", "mil"))
_SHOWN_CELLS: Final = 100
"""Cells that are no coordinate of which each has its own record; where there are more a column is at fault."""


def open_questions(decisions: Sequence[Decision]) -> list[Discrepancy]:
    """Return a record for each decision that is a guess: it is about that decision and bears its topic."""
    return [
        Discrepancy(d.topic, say("compare.open decision", decision=d), place=d.place, severity=Severity.STOP, about=d)
        for d in decisions
        if d.open
    ]


def part_or_not(files: Sequence[PlacementColumns], placed: Placements) -> list[Discrepancy]:
    """Return a record for each reason for which rows may be parts or not; *placed* are the rows of all *files*."""
    rows: dict[Said, list[int]] = {}
    for file, start in with_starts(files):
        for i, question in file.doubted.items():
            rows.setdefault(question, []).append(start + i)
    found = []
    for question, same in rows.items():
        refs = tuple(placed.ref[i] for i in same)
        said = say("compare.part or not", question=question)
        found.append(Discrepancy(Topic.PART_OR_NOT, said, refs, placed.place(same[0]), Severity.STOP))
    return found


def left_out(
    set_aside: Iterable[SetAside],
    placed: Iterable[str],
    lines: Iterable[BomLine] = (),
    files: Sequence[PlacementColumns] = (),
) -> list[Discrepancy]:
    """Return a record for each row set aside that reads like a part in no other row, or that speaks of a part.

    *placed* are the references of the placements, *lines* those of the BOM. To them come those of *files* that hold
    another number of parts than they say themselves.
    """
    set_aside, listed = list(set_aside), list(lines)
    found = [*_fewer_than_listed(files), *_counted_otherwise(set_aside, listed, files)]
    known = {*placed, *(ref for line in listed for ref in line.refs)}
    fitted = {ref for line in listed if line.fitted for ref in line.refs}
    read = {(line.file, line.sheet, line.row) for line in listed}
    named = _names_of_parts(listed)
    told: dict[tuple[str, str | None], list[tuple[SetAside, tuple[str, ...]]]] = {}
    for row in set_aside:
        names = {name for ref in references_in(row.text, known) for name in named.get(ref, ())}
        lost = tuple(ref for ref in row.refs if ref not in known and ref not in names)
        if lost or (row.filled and not row.refs):
            key = "compare.left out" if lost else "compare.left out without reference"
            said = say(key, row=row.place.row or 0, reason=row.reason, text=row.text or ", ".join(row.refs))
            found.append(Discrepancy(Topic.LEFT_OUT, said, lost, row.place, Severity.STOP))
        elif (row.place.file, row.place.sheet, row.place.row) not in read and (refs := _spoken_of(row, known, fitted)):
            told.setdefault((row.place.file, row.place.sheet), []).append((row, refs))
    for rows in (_exceptions(rows, fitted or known) for rows in told.values()):
        if not rows:
            continue
        said = say("compare.told of parts", texts=[row.text for row, _ in rows])
        every = tuple(dict.fromkeys(ref for _, refs in rows for ref in refs))
        found.append(Discrepancy(Topic.LEFT_OUT, said, every, rows[0][0].place, Severity.ASSUMED))
    return found


def _names_of_parts(lines: Iterable[BomLine]) -> dict[str, frozenset[str]]:
    """Return for each reference what its lines call the part: a row that says so too names no other one."""
    found: dict[str, frozenset[str]] = {}
    for line in lines:
        called = frozenset(filter(None, (line.part_number, line.value, line.package)))
        for ref in line.refs:
            found[ref] = found.get(ref, frozenset()) | called
    return found


def told_of_data(
    set_aside: Iterable[SetAside], files: Sequence[PlacementColumns] = (), *, panel_known: bool
) -> list[Discrepancy]:
    """Return a record for each file and each sort of lines beside its rows that say something of the whole list.

    With them go titles of columns of *files* that say it themselves.
    *panel_known* says that the data, or board.toml, tell the panel that a line speaks of.
    """
    told: dict[tuple[str, str | None, str], list[SetAside]] = {}
    for row in (title for file in files for title in doubted_titles(file.table, file.columns)):
        told.setdefault((row.place.file, row.place.sheet, "compare.told of the data"), []).append(row)
    for row in set_aside:
        key = row.reason.key if isinstance(row.reason, Said) else ""
        if key not in _REMARKS | {_BESIDE} or _DATED.search(row.text):
            continue
        if sort := _sort_of(row.text, panel_known) or _of_another_unit(row, files):
            told.setdefault((row.place.file, row.place.sheet, sort), []).append(row)
    return [
        Discrepancy(
            Topic.LEFT_OUT,
            say(sort, texts=list(dict.fromkeys(row.text for row in rows))),
            (),
            rows[0].place,
            Severity.ASSUMED,
        )
        for (_, _, sort), rows in told.items()
    ]


def _of_another_unit(row: SetAside, files: Sequence[PlacementColumns]) -> str:
    """Return the sort of a text beside the lists that names inches or mils, where every list states another unit."""
    told = unit_in_line(row.text) if _is_beside(row) and files else None
    if told is None or told.unit not in _OF_AN_INCH:
        return ""
    units = {file.stated.unit for file in files if file.stated is not None}
    return "" if not units or units & _OF_AN_INCH else "compare.told of the data"


def _sort_of(text: str, panel_known: bool) -> str:
    if is_about_data(text):
        return "compare.told of the data"
    if speaks_of_panel(text):
        return "" if panel_known else "compare.told of a panel"
    return "compare.told of all" if speaks_of_all(text) else ""


def _exceptions(
    rows: list[tuple[SetAside, tuple[str, ...]]], parts: Collection[str]
) -> list[tuple[SetAside, tuple[str, ...]]]:
    """Return the rows that single parts out: of a further file that names most of them, those that say not fitted."""
    if not _is_beside(rows[0][0]) or 2 * len({ref for _, refs in rows for ref in refs}.intersection(parts)) < len(
        parts
    ):
        return rows
    return [(row, refs) for row, refs in rows if says_not_fitted(REFERENCE.sub("", row.text))]


def _is_beside(row: SetAside) -> bool:
    return isinstance(row.reason, Said) and row.reason.key == _BESIDE


def _spoken_of(row: SetAside, known: Container[str], fitted: Container[str]) -> tuple[str, ...]:
    """Return the parts of which a remark beside a table says something; what is dated is the history of the list."""
    key = row.reason.key if isinstance(row.reason, Said) else ""
    if key not in _REMARKS | _REPEATED | {_BESIDE} or _DATED.search(row.text):
        return ()
    if key in _REPEATED:
        known = fitted
    refs = references_in(row.text, known)
    named = PurePath(row.place.file).stem if key == _BESIDE else row.place.sheet
    if not refs or sheet_is_not_fitted(named):
        return refs
    rest = REFERENCE.sub("", row.text)
    if key == _BESIDE:
        return refs if any(map(str.isalpha, rest)) else ()
    return refs if (says_not_fitted(rest) if key in _REPEATED else _WORD.search(rest)) else ()


def _counted_otherwise(
    set_aside: Iterable[SetAside], lines: Sequence[BomLine], files: Sequence[PlacementColumns]
) -> Iterator[Discrepancy]:
    """Yield a record for each text beside the lists that counts the parts, and as many as no list holds."""
    parts, rows = sum(int(np.count_nonzero(file.kind == Kind.PART)) for file in files), sum(map(len, files))
    fitted = [line for line in lines if line.fitted]
    counts = {parts, rows, *(len(some) for some in (lines, fitted))}
    counts |= {sum(len(line.refs) for line in some) for some in (lines, fitted)}
    for file in files:
        own = file.side[file.kind == Kind.PART]
        counts |= {len(own), *(int(np.count_nonzero(own == side)) for side in (Side.TOP, Side.BOTTOM))}
    for row in set_aside:
        said = listed_count(row.text) if _is_beside(row) else None
        if said is not None and said not in counts:
            told = say("compare.another count", said=said, rows=rows, parts=parts)
            yield Discrepancy(Topic.LEFT_OUT, told, (), row.place, Severity.ASSUMED)


def _fewer_than_listed(files: Sequence[PlacementColumns]) -> list[Discrepancy]:
    """Return a record for each file whose own count of its parts is neither that of its rows nor of its parts."""
    found = []
    for file in files:
        parts = int(np.count_nonzero(file.kind == Kind.PART))
        for row in file.table.set_aside:
            said = listed_count(row.text)
            if said is not None and said not in {len(file), parts}:
                told = say("compare.another count", said=said, rows=len(file), parts=parts)
                found.append(Discrepancy(Topic.LEFT_OUT, told, (), row.place, Severity.ASSUMED))
    return found


def missing_places(files: Sequence[PlacementColumns], placed: Placements) -> list[Discrepancy]:
    """Return the parts without a side or without coordinates; each cell that is no coordinate has its own record."""
    found = []
    unread: dict[int, tuple[Place, str]] = {}
    for file, start in with_starts(files):
        for i, (title, text) in file.unread.items():
            unread[start + i] = replace(file.place(i), column=title), text
    # Where a file does state a place, and it is open all the same, that has been said with both places.
    stated = placed.place_open if placed.place_open is not None else np.zeros(len(placed), dtype=np.bool_)
    for topic, bad, question in (
        (Topic.SIDE_UNKNOWN, placed.side == Side.UNKNOWN, "compare.which side"),
        (Topic.NO_POSITION, ~(np.isfinite(placed.x_mm) & np.isfinite(placed.y_mm)), "compare.where"),
    ):
        rows = np.flatnonzero(bad & ~stated & (placed.kind == Kind.PART)).tolist()
        if topic is Topic.NO_POSITION:
            shown = [i for i in rows if i in unread][:_SHOWN_CELLS]
            found += [_not_read(placed.ref[i], *unread[i]) for i in shown]
            rows = sorted({*rows} - {*shown})
        if rows:
            refs = tuple(placed.ref[i] for i in rows)
            place = Place(placed.files[int(placed.file[rows[0]])], int(placed.row[rows[0]]))
            found.append(Discrepancy(topic, say(question), refs, place, Severity.STOP))
    return found


def _not_read(ref: str, place: Place, text: str) -> Discrepancy:
    told = say("compare.no coordinate", title=place.column, row=place.row, file=PurePath(place.file).name, text=text)
    said = say("compare.where, by a cell", told=told)
    return Discrepancy(Topic.NO_POSITION, said, (ref,), place, Severity.STOP, evidence=told)
