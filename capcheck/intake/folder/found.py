"""What was chosen among the files of a folder, with why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct, field

from capcheck.intake.tables import Table
from capcheck.model import Decision, Discrepancy, LayerFile, Note, SetAside

if TYPE_CHECKING:
    from capcheck.intake.exchange import Form


class Found(Struct, frozen=True):
    """The files chosen, with why; nothing where the files were named."""

    placements: tuple[Path, ...] = ()
    bom: Path | None = None
    further_boms: tuple[Path, ...] = ()
    """More files that look like a bill of materials, best first."""
    outlines: tuple[Path, ...] = ()
    """The drawings that may be the outline, best first."""
    drills: tuple[Path, ...] = ()
    """The files that list holes to drill."""
    fabrication: tuple[tuple[Path, Form], ...] = ()
    """The files of fabrication that state something of the parts."""
    layers: tuple[LayerFile, ...] = ()
    """Gerber layers that may show lands."""
    drills_of_layers: tuple[Path, ...] = ()
    """Drill files that lie in an archive with the layers; the outline is read without them."""
    repeats: Mapping[str, Sequence[str]] = field(default_factory=dict)
    """Files that repeat the placements, with the references that lie elsewhere there."""
    unlike: tuple[str, ...] = ()
    """Files that place the same references, and most of them elsewhere."""
    size_lists: tuple[Table, ...] = ()
    """Tables that state sizes by part number."""
    beside: tuple[SetAside, ...] = ()
    """What further files say of references, row by row."""
    decisions: tuple[Decision, ...] = ()
    notes: tuple[Note, ...] = ()
    discrepancies: tuple[Discrepancy, ...] = ()
    """What lies there and cannot be read."""
