"""A board as understood: outline, size, placements, parts with bodies, and what was inferred on the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from capcheck.model.lands import BoardLands
from capcheck.model.outline import Outline
from capcheck.model.parts import UNKNOWN_MEASURE, Body, BomLine, Measure, PartName, Placements
from capcheck.model.record import Decision, Discrepancy, InputFile, Note, ReadTable, SetAside
from capcheck.model.stated import Manifest


class BoardSize(Struct, frozen=True):
    """The board's box along its own x (*length*) and y (*width*), thickness and mass, each with its source."""

    length: Measure = UNKNOWN_MEASURE
    width: Measure = UNKNOWN_MEASURE
    thickness: Measure = UNKNOWN_MEASURE
    mass: Measure = UNKNOWN_MEASURE


class Board(Struct, frozen=True):
    """A board as understood: what `read_board` returns and every later step starts from."""

    name: str
    placements: Placements
    types: Sequence[PartName]
    bodies: Sequence[Body]
    """One for each of *types*."""
    bom: Sequence[BomLine] | None
    outline: Outline | None
    size: BoardSize
    manifest: Manifest
    """The board.toml, with defaults where there is none."""
    inputs: Sequence[InputFile] = ()
    notes: Sequence[Note] = ()
    decisions: Sequence[Decision] = ()
    set_aside: Sequence[SetAside] = ()
    discrepancies: Sequence[Discrepancy] = ()
    """Where the customer's files disagree."""
    tables: Sequence[ReadTable] = ()
    unit_settled: bool = True
    """False where the unit of the coordinates is open: what depends on distances is then held back."""
    provided: Mapping[str, str] = {}
    """The references of parts that the customer provides, each with the text that says so; they are not bought."""
    sides_settled: bool = True
    """False where the side of a part is open."""
    lands: BoardLands | None = None
    """The lands of the parts, where layers of the board were read."""
