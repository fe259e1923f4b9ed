"""What files of fabrication state, laid onto the placements: as sources beside the others, and what disagrees.

A file counts only where it is of this board: at least half of its parts must lie on their lands, each side shifted for
itself. What it states of pins, pitch and mounting then stands beside what columns state.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Final

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.intake.exchange.form import Form
from capcheck.intake.exchange.lands import PartLands
from capcheck.intake.exchange.read_together import Together, read_set, sets_of
from capcheck.intake.exchange.turns import numbered_otherwise, turned_otherwise
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
from capcheck.values import Interval, Place

_LEAST_MATCH: Final = 0.5
_OFF_MM: Final = 0.1
"""A two-land part lies in the middle of its lands; exports round, to 0.01 mm and less."""
_FARTHEST_MM: Final = 1e5
"""No file's origin lies farther from its board."""
_FEWEST: Final = 4
"""So few parts on their lands prove nothing of a shift that is fitted to them."""
_CENTRED: Final = frozenset({"C", "D", "F", "FB", "L", "LED", "R"})
"""Letters of parts whose two lands are alike on both sides of the body (by ASME Y14.44, and as people write them)."""
_USED: Final = {
    Form.IDF: "fabrication.heights used",
    Form.IPC2581: "fabrication.packages used",
    Form.COMPONENTS: "fabrication.packages used",
}
"""What is said of a file that counts, where it does not state lands."""
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
    has_lands: bool = False
    """Whether any of them that counts states lands."""
    numbers: Mapping[int, tuple[str, Place]] = field(default_factory=dict)
    """The part numbers that they state, and where, by the placements' rows."""


def with_fabrication(
    placements: Placements,
    base: Sequence[str],
    types: Sequence[PartName],
    files: Sequence[tuple[Path, Form]],
    named: frozenset[Path],
) -> Stated:
    """Return the types of a board with what *files* state of its parts.

    Raises :class:`~capcheck.values.InputError` where one of the files *named* by the user cannot be read; the others
    are noted.
    """
    board, stated = _Board(placements, base), Stated(types)
    for form, alike in sets_of(files):
        if form is Form.PADS and stated.has_lands:
            continue  # the layers that the netlist was made of
        read = read_set(form, alike, named)
        stated = replace(stated, notes=(*stated.notes, *read.notes))
        if read.parts or read.unread:
            stated = _with_set(stated, board, read)
    return stated


def _with_set(stated: Stated, board: _Board, read: Together) -> Stated:
    known, here = str(read.form), Place(str(read.files[0]))
    rows = _rows_of(board, read)
    lands = _on_lands(board, rows)
    notes = list(stated.notes)
    if read.unread:
        notes.append(Note(say("fabrication.damaged", form=known, count=read.unread), here))
    is_placed_by_it = set(map(str, read.files)) & set(board.placements.files)
    if is_placed_by_it:
        lands = replace(lands, refused=frozenset())
    elif lands.judged < _FEWEST or lands.share < _LEAST_MATCH:
        key = "fabrication.another board" if lands.judged else "fabrication.too few"
        said = say(key, form=known, count=lands.judged or len(lands.rows), share=round(100 * lands.share))
        return replace(stated, notes=[*notes, Note(said, here)])
    if lands.refused:
        sides = sorted(str(Side(side)) for side in lands.refused)
        notes.append(Note(say("fabrication.sides not used", form=known, sides=sides), here))
        rows = {row: part for row, part in rows.items() if board.placements.side[row] not in lands.refused}
    key = _USED.get(read.form, "fabrication.used")
    count = sum(part.height_mm is not None for part in rows.values()) if read.form is Form.IDF else len(rows)
    notes.append(Note(say(key, form=known, count=count), here))
    types = _with_lands(stated.types, board.placements.part_type, rows, read.files)
    # In a panel its parts lie otherwise than it states them of one board.
    asked = [] if is_placed_by_it else _disagreements(board, stated.types, rows, lands, read)
    has_lands = stated.has_lands or read.form not in {Form.IDF, Form.COMPONENTS}
    # What IDF and IPC-2581 call a part is often a name of its library: it is compared, and numbers none.
    may_number = read.form is Form.COMPONENTS and not is_placed_by_it
    numbers = {
        row: (part.number, Place(str(read.files[part.file]), part.line))
        for row, part in rows.items()
        if part.number and may_number
    }
    return Stated(types, notes, (*stated.discrepancies, *asked), has_lands, {**numbers, **stated.numbers})


def _rows_of(board: _Board, read: Together) -> dict[int, PartLands]:
    """Return the lands of each placement that the files name, by its row; of a cut reference only where it is one."""
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
        if short in read.parts and alone:
            found[row] = read.parts[short]
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
        of_type.setdefault((part.pins, part.pitch, part.mounting, part.height_mm, part.outline), part)
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
        sizes["pins"] = (Interval.exactly(part.pins), where)
    if part.pitch is not None:
        sizes["pitch"] = (Interval(*part.pitch), where)
    if part.height_mm is not None:
        sizes["height"] = (Interval.exactly(part.height_mm), where)
    drawn = ((*part.outline, where),) if part.outline is not None else ()
    joints = ((part.mounting, where),) if part.mounting is not None else ()
    return replace(
        told,
        other_dimensions=(*told.other_dimensions, *([sizes] if sizes else [])),
        joints=(*told.joints, *joints),
        drawn=(*told.drawn, *drawn),
    )


def _disagreements(
    board: _Board, types: Sequence[PartName], rows: Mapping[int, PartLands], lands: _OnLands, read: Together
) -> list[Discrepancy]:
    """Return what the file says otherwise than the lists: a part's side, angle, number and place."""
    placed, files = board.placements, read.files
    by_lands = read.form in {Form.NETLIST, Form.PADS}
    other = [
        row
        for row, part in rows.items()
        if part.side and placed.side[row] != Side.UNKNOWN and placed.side[row] != _CODES[part.side]
    ]
    beside = lands.rows[lands.two & (lands.off > _OFF_MM)].tolist()
    off = [row for row in beside if row in rows and _is_centred(rows[row]) and row not in set(other)]
    turned = [row for row in turned_otherwise(placed, types, rows, by_lands=by_lands) if row not in set(other)]
    is_list = read.form is Form.COMPONENTS
    found = []
    for key, about in (
        ("fabrication.other side", other),
        ("fabrication.off its lands", off),
        ("fabrication.turned otherwise", turned),
        (
            "fabrication.another number",
            numbered_otherwise(placed, types, rows, lists_placements=is_list),
        ),
    ):
        if about:
            refs = tuple(dict.fromkeys(placed.ref[row] for row in about))
            part = rows[about[0]]
            said = say(key, file=files[part.file].name, refs=list(refs), most=_most(lands, about))
            place = Place(str(files[part.file]), part.line)
            topic = Topic.TWO_VALUES if key == "fabrication.another number" else Topic.AGAINST_LANDS
            found.append(Discrepancy(topic, said, refs, place, Severity.STOP))
    return found


def _is_centred(part: PartLands) -> bool:
    """Whether a part of two lands lies in their middle: of a header that may be pin 1, of a buzzer its round body."""
    return part.mounting is Mounting.SURFACE and part.ref.rstrip("0123456789").upper() in _CENTRED


def _most(lands: _OnLands, about: Iterable[int]) -> float:
    """Return the greatest distance in mm of the rows."""
    chosen = lands.off[np.isin(lands.rows, list(about))]
    return round(float(np.nanmax(chosen)), 2) if np.any(np.isfinite(chosen)) else 0.0
