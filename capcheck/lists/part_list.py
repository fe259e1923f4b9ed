"""What a list is: titled columns, rows with their references and the rule each comes from, totals and notes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

from capcheck.facts import part_label
from capcheck.lexicon import is_named
from capcheck.model import Board, Body, Mounting, PartName, Said
from capcheck.values import Interval

Cell = str | int | float | Interval | Said | tuple[str, ...] | None
"""None is not known; a blank text says that nothing is asked for here."""


class ListRow(Struct, frozen=True):
    """One line: the references it speaks for, a cell for each column, and the table or rule that it comes from."""

    refs: tuple[str, ...]
    cells: tuple[Cell, ...]
    source: Said


class PartList(Struct, frozen=True):
    """A list of one board. Cells of the columns *own* belong to one reference: a text draws such rows together.

    *totals* agree with the board: each fitted part, or each row that the list is about, is counted in one of them.
    """

    name: str
    board: str
    columns: tuple[str, ...]
    rows: Sequence[ListRow]
    totals: Sequence[Said]
    notes: Sequence[Said] = ()
    own: frozenset[str] = frozenset()
    unshown: frozenset[str] = frozenset()
    """Columns that a reader's text leaves out, so that rows that are alike without them stand in one line."""


def fitted_by_type(board: Board) -> dict[int, list[int]]:
    """Return the placement rows of the fitted parts by the number of their type, −1 for those without one."""
    found: dict[int, list[int]] = {}
    for row in board.placements.is_part.nonzero()[0].tolist():
        found.setdefault(int(board.placements.part_type[row]), []).append(row)
    return found


def body_of_type(board: Board, index: int) -> Body:
    """Return the body of a type of part; one of which nothing is known where there is no type."""
    return board.bodies[index] if index >= 0 else Body()


def label_of_type(board: Board, index: int) -> str:
    """Return what a reader calls a type of part."""
    return part_label(board, index) if index >= 0 else "unnamed"


def refs_of(board: Board, rows: Iterable[int]) -> tuple[str, ...]:
    """Return the references of placement rows."""
    return tuple(board.placements.ref[row] for row in rows)


def is_bare(board: Board, index: int) -> bool:
    """Whether a type stands for copper of the board: nothing is placed, and no part number says that it is bought."""
    if index < 0 or is_named(board.types[index].part_number):
        return False
    return board.bodies[index].mounting is Mounting.NONE


def together(board: Board, types: Mapping[int, list[int]]) -> dict[str, dict[int, list[int]]]:
    """Return types with their rows by what they are bought as: a part number is bought, and stands on a feeder, once.

    What has neither number nor footprint is told apart by the letters of its reference, and what has no value
    either by the reference: two connectors of which nothing is said are two parts.
    """
    found: dict[str, dict[int, list[int]]] = {}
    for index, rows in types.items():
        name = board.types[index] if index >= 0 else PartName()
        is_known = is_named(name.part_number) or name.footprint or name.bom_package
        for row in rows:
            label = label_of_type(board, index)
            if not is_known or (label in {name.part_number, "unnamed"} and not is_named(name.part_number)):
                ref = board.placements.ref[row].partition("/")[0]
                label = f"{label} ({name.ref_prefix if is_named(name.value) and not name.part_number else ref})"
            found.setdefault(label, {}).setdefault(index, []).append(row)
    return found
