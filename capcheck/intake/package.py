"""What the files of a board say, reconciled: the result of reading them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from capcheck.model import (
    BomLine,
    Decision,
    InputFile,
    LayerFile,
    Note,
    OtherPlaces,
    Outline,
    PartName,
    Placed,
    Placements,
    ReadColumn,
    ReadTable,
    SetAside,
)

if TYPE_CHECKING:
    from pathlib import Path

    from capcheck.intake.frame import Panel
    from capcheck.intake.tables import Columns, Table
    from capcheck.intake.told_of_board import ToldOfBoard
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
    layers: tuple[LayerFile, ...] = ()
    """Gerber layers that may show lands, not yet read."""
    drills: tuple[Path, ...] = ()
    """Files that list holes in the layers' frame."""
    told: Sequence[ToldOfBoard] = ()
    """What texts beside the lists state of the whole board."""
    other_places: Sequence[OtherPlaces] = ()
    """Where other columns or files put parts, where there are layers to tell which is right."""


def table_on_record(table: Table, columns: Columns, role: Literal["placements", "bom"]) -> ReadTable:
    """Return what is on record of a table: its form, and what its columns were taken for."""
    titles = {k: title for k, title in enumerate(table.header) if title}
    read = [(str(found), k, columns.units.get(found, "")) for found, k in columns.index.items()]
    read += [(f"further {found}", k, "") for found, others in columns.variants.items() for k in others]
    if role == "bom":
        from capcheck.intake.bom import supply_column

        if (supply := supply_column(table, columns)) is not None:
            read.append(("packaging", supply, ""))
    used = {k for _, k, _ in read}
    return ReadTable(
        file=table.file,
        sheet=table.sheet,
        role=role,
        encoding=table.encoding,
        delimiter=table.delimiter,
        header_row=table.header_row,
        rows=len(table),
        set_aside=len(table.set_aside),
        columns=tuple(
            ReadColumn(role=name, title=titles.get(k, f"column {k + 1}"), unit=unit) for name, k, unit in read
        ),
        unused=tuple(
            titles[k] for k, cells in enumerate(table.columns) if k in titles and k not in used and any(cells)
        ),
    )
