"""What the files of a board say, reconciled: the result of reading them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from capcheck.model import BomLine, Decision, Flags, InputFile, Note, Outline, PartName, Placements, SetAside

if TYPE_CHECKING:
    from capcheck.intake.frame import Panel
    from capcheck.intake.tables import Columns, Table
    from capcheck.model import Discrepancy, Manifest


class ReadTable(Struct, frozen=True):
    """One table with what its columns were taken for, for ``capcheck read``."""

    table: Table
    columns: Columns
    role: Literal["placements", "bom"]


class Package(Struct, frozen=True):
    """All of a customer's files as understood, before any part has a body.

    *in_bom* and *duplicate_ref* are flags a placement. *unit_settled* and *sides_settled* are False where that
    question is open: what depends on positions or sides is then held back, so that one open question stays one.
    """

    name: str
    placements: Placements
    types: Sequence[PartName]
    bom: Sequence[BomLine] | None
    outline: Outline | None
    manifest: Manifest
    inputs: Sequence[InputFile]
    notes: Sequence[Note]
    decisions: Sequence[Decision]
    set_aside: Sequence[SetAside]
    tables: Sequence[ReadTable]
    discrepancies: Sequence[Discrepancy]
    in_bom: Flags
    duplicate_ref: Flags
    panel: Panel | None
    unit_settled: bool
    sides_settled: bool
