"""What files of fabrication state, laid onto the placements: as sources beside the others, and what disagrees.

A file counts only where it is of this board: at least half of its parts must lie on their lands, each side shifted for
itself. What it states of pins, pitch and mounting then stands beside what columns state.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.exchange.form import Form
from capcheck.intake.exchange.lands import Netlist, PartLands, joined, lands_of_parts
from capcheck.intake.exchange.netlist import read_netlist
from capcheck.intake.exchange.pads import read_pads
from capcheck.model import (
    Discrepancy,
    Flags,
    Floats,
    Ints,
    Kind,
    Mounting,
    Note,
    PartName,
    Placements,
    Severity,
    Side,
    Topic,
    say,
)
from capcheck.values import InputError, Interval, Place

_LEAST_MATCH: Final = 0.5
_OFF_MM: Final = 0.1
"""A two-land part lies in the middle of its lands; exports round, to 0.01 mm and less."""
_FARTHEST_MM: Final = 1e5
"""No file's origin lies farther from its board."""
_FEWEST: Final = 4
"""So few parts on their lands prove nothing of a shift that is fitted to them."""
_CENTRED: Final = frozenset({"C", "D", "F", "FB", "L", "LED", "R"})
"""Letters of parts whose two lands are alike on both sides of the body (by ASME Y14.44, and as people write them)."""
_CODES: Final = {"top": Side.TOP, "bottom": Side.BOTTOM}


class _Board(Struct, frozen=True):
    """The placements of a board with the reference of each within its circuit."""

    placements: Placements
    base: Sequence[str]


class Stated(Struct, frozen=True):
    """The types with what the files state of them, and what is told of the files."""

    types: Sequence[PartName]
    notes: Sequence[Note] = ()
    discrepancies: Sequence[Discrepancy] = ()
    used: bool = False
    """Whether any of them counts."""


def with_fabrication(
    placements: Placements,
    base: Sequence[str],
    types: Sequence[PartName],
    files: Sequence[tuple[Path, Form]],
    named: frozenset[Path],
) -> Stated:
    """Return the types of a board with what *files* state of its parts.

    Raises :class:`InputError` where one of the files *named* by the user cannot be read; the others are noted.
    """
    board, stated = _Board(placements, base), Stated(types)
    for form, together in _sets(files):
        if form is Form.PADS and stated.used:
            continue  # the layers that the netlist was made of
        read: list[tuple[Path, Netlist]] = []
        for file in together:
            try:
                found = _READERS[form](file)
                if found.lands or found.unread:
                    read.append((file, found))
            except InputError as error:
                if file in named:
                    raise
                note = Note(say("fabrication.not read", form=str(form), what=error.problems[0].what), Place(str(file)))
                stated = replace(stated, notes=(*stated.notes, note))
        if read:
            stated = _with_files(stated, board, form, read)
    return stated


_READERS: Final[Mapping[Form, Callable[[Path], Netlist]]] = {Form.NETLIST: read_netlist, Form.PADS: read_pads}


def _sets(files: Sequence[tuple[Path, Form]]) -> Iterator[tuple[Form, list[Path]]]:
    """Yield the files that are read together: each netlist by itself, then the layers of both sides."""
    layers = [file for file, form in files if form is Form.PADS]
    yield from ((form, [file]) for file, form in files if form is not Form.PADS)
    if layers:
        yield Form.PADS, layers


def _with_files(stated: Stated, board: _Board, form: Form, read: Sequence[tuple[Path, Netlist]]) -> Stated:
    files = [file for file, _ in read]
    known, here = str(form), Place(str(files[0]))
    whole = read[0][1]
    if len(read) > 1:
        lands = (replace(land, file=number) for number, (_, one) in enumerate(read) for land in one.lands)
        whole = replace(whole, lands=joined(lands))
    rows = _rows_of(board, whole)
    lands_at = _on_lands(board, rows)
    notes = list(stated.notes)
    if whole.unread:
        notes.append(Note(say("fabrication.damaged", form=known, count=whole.unread), here))
    if lands_at.judged < _FEWEST or lands_at.share < _LEAST_MATCH:
        key = "fabrication.another board" if lands_at.judged else "fabrication.too few"
        said = say(key, form=known, count=lands_at.judged or len(lands_at.rows), share=round(100 * lands_at.share))
        return replace(stated, notes=[*notes, Note(said, here)])
    if lands_at.refused:
        sides = sorted(str(Side(side)) for side in lands_at.refused)
        notes.append(Note(say("fabrication.sides not used", form=known, sides=sides), here))
        rows = {row: part for row, part in rows.items() if board.placements.side[row] not in lands_at.refused}
    notes.append(Note(say("fabrication.used", form=known, count=len(rows)), here))
    types = _with_lands(stated.types, board.placements.part_type, rows, files)
    asked = _disagreements(board, rows, lands_at, files)
    return Stated(types, notes, (*stated.discrepancies, *asked), used=True)


def _rows_of(board: _Board, read: Netlist) -> dict[int, PartLands]:
    """Return the lands of each placement that the file names, by its row; of a cut reference only where it is one."""
    parts = lands_of_parts(read)
    cut: dict[str, set[str]] = {}
    if read.cut_at:
        for ref in board.base:
            if len(ref) > read.cut_at:
                cut.setdefault(ref[: read.cut_at], set()).add(ref)
    known = set(board.base)
    found: dict[int, PartLands] = {}
    for row, ref in enumerate(board.base):
        if board.placements.kind[row] != Kind.PART:
            continue
        short = ref[: read.cut_at] if read.cut_at else ref
        alone = ref not in cut and (short == ref or (cut[short] == {ref} and short not in known))
        if short in parts and alone:
            found[row] = parts[short]
    return found


class _OnLands(Struct, frozen=True):
    """The placements of which the middle of the lands is known, and how far off it each lies."""

    rows: Ints
    off: Floats
    """Distance in mm of each, with the side's own shift taken off; NaN where too few lie on its side to tell one."""
    two: Flags
    """Those with two lands of one size, in whose middle a part lies."""
    judged: int
    """How many placements the match of the sides was judged by."""
    share: float
    """The share of them that lie on their lands."""
    refused: frozenset[int]
    """The sides on which less than half of them do."""


def _on_lands(board: _Board, rows: Mapping[int, PartLands]) -> _OnLands:
    placed = board.placements
    once = {board.base[row]: row for row in reversed(list(rows))}  # of a panel the first circuit
    chosen = [row for row in once.values() if rows[row].middle is not None and np.isfinite(placed.x_mm[row])]
    at = np.array(chosen, dtype=np.int64)
    two = np.array([rows[row].is_pair for row in chosen], dtype=np.bool_)
    off, refused, judged, hits = np.full(len(at), np.nan), set(), 0, 0
    if chosen:
        middles = np.array([rows[row].middle for row in chosen], dtype=np.float64)
        apart = np.column_stack([placed.x_mm[at], placed.y_mm[at]]) - middles
        for side in np.unique(placed.side[at]).tolist():
            here = placed.side[at] == side
            sure = here & two if np.count_nonzero(here & two) >= _FEWEST else here
            count = int(np.count_nonzero(sure))
            if count < _FEWEST:
                continue
            off[here] = np.hypot(*(apart[here] - _commonest(apart[sure])).T)
            on = int(np.count_nonzero(off[sure] <= _OFF_MM))
            judged, hits = judged + count, hits + on
            if on < _LEAST_MATCH * count:
                refused.add(side)
    return _OnLands(at, off, two, judged, hits / judged if judged else 0.0, frozenset(refused))


def _commonest(shifts: Floats) -> Floats:
    """Return the shift that most of *shifts* are within the slack of: their median there."""
    cells = np.round(np.clip(shifts, -_FARTHEST_MM, _FARTHEST_MM) / (2 * _OFF_MM)).astype(np.int64)
    kinds, counts = np.unique(cells, axis=0, return_counts=True)
    near = np.all(np.abs(cells - kinds[np.argmax(counts)]) <= 1, axis=1)
    middle: Floats = np.median(shifts[near], axis=0)
    return middle


def _with_lands(
    known: Sequence[PartName], part_type: Ints, rows: Mapping[int, PartLands], files: Sequence[Path]
) -> list[PartName]:
    """Return the types with what lands state of their parts: each statement once, so that two that differ disagree."""
    types = list(known)
    said: dict[int, dict[tuple[object, ...], PartLands]] = {}
    for row, part in rows.items():
        of_type = said.setdefault(int(part_type[row]), {})
        of_type.setdefault((part.pins, part.pitch, part.mounting), part)
    for index, parts in said.items():
        if index < 0:
            continue
        told = types[index]
        for part in list(parts.values())[:_MOST_STATEMENTS]:
            told = _with_statement(told, part, f"{files[part.file].name}:{part.line} {part.ref}")
        types[index] = told
    return types


_MOST_STATEMENTS: Final = 3


def _with_statement(told: PartName, part: PartLands, where: str) -> PartName:
    sizes = {}
    if part.pins is not None:
        sizes["pins"] = (Interval(part.pins, part.pins), where)
    if part.pitch is not None:
        sizes["pitch"] = (Interval(*part.pitch), where)
    joints = ((part.mounting, where),) if part.mounting is not None else ()
    return replace(
        told,
        other_dimensions=(*told.other_dimensions, *([sizes] if sizes else [])),
        joints=(*told.joints, *joints),
    )


def _disagreements(
    board: _Board, rows: Mapping[int, PartLands], lands: _OnLands, files: Sequence[Path]
) -> list[Discrepancy]:
    """Return what the file says otherwise than the placements: a part's side, and its place where it has two lands."""
    placed = board.placements
    other = [
        row
        for row, part in rows.items()
        if part.side and placed.side[row] != Side.UNKNOWN and placed.side[row] != _CODES[part.side]
    ]
    beside = lands.rows[lands.two & (lands.off > _OFF_MM)].tolist()
    off = [row for row in beside if row in rows and _is_centred(rows[row]) and row not in set(other)]
    found = []
    for key, about in (("fabrication.other side", other), ("fabrication.off its lands", off)):
        if about:
            refs = tuple(dict.fromkeys(placed.ref[row] for row in about))
            part = rows[about[0]]
            said = say(key, file=files[part.file].name, refs=list(refs), most=_most(lands, about))
            place = Place(str(files[part.file]), part.line)
            found.append(Discrepancy(Topic.AGAINST_LANDS, said, refs, place, Severity.STOP))
    return found


def _is_centred(part: PartLands) -> bool:
    """Whether a part of two lands lies in their middle: of a header that may be pin 1, of a buzzer its round body."""
    return part.mounting is Mounting.SURFACE and part.ref.rstrip("0123456789").upper() in _CENTRED


def _most(lands: _OnLands, about: Iterable[int]) -> float:
    """Return the greatest distance in mm of the rows."""
    chosen = lands.off[np.isin(lands.rows, list(about))]
    return round(float(np.nanmax(chosen)), 2) if np.any(np.isfinite(chosen)) else 0.0
