"""What the files of a board say, reconciled: the result of reading them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from capcheck.model import (
    BomLine,
    Decision,
    InputFile,
    Note,
    Outline,
    PartName,
    Placed,
    Placements,
    ReadTable,
    SetAside,
)

if TYPE_CHECKING:
    from capcheck.intake.frame import Panel
    from capcheck.model import Discrepancy, Manifest


class Package(Struct, frozen=True):
    """All of a customer's files as understood, before any part has a body.

    *unit_settled* and *sides_settled* are False where that question is open: what depends on positions or sides is then
    held back, so that one open question stays one.
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
    panel: Panel | None
    unit_settled: bool
    sides_settled: bool
    provided: Mapping[str, str] = {}
    """The references of parts that the customer provides, each with the text that says so."""
    placed: Placed = Placed.AS_WRITTEN
