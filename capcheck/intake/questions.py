"""What must be asked before anything else: open decisions, parts without side or place, rows set apart."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from capcheck.intake.reconcile import Discrepancy
from capcheck.model import Decision, Kind, Note, Placements, Side
from capcheck.refs import shortened

if TYPE_CHECKING:
    from capcheck.intake.placements import PlacementColumns


def open_questions(decisions: Sequence[Decision]) -> list[Discrepancy]:
    """Return a record for each decision that is a guess: its kind is the topic with ``open`` behind it."""
    return [Discrepancy(f"{d.topic} open", d.note().message, (), d.file, None, "stop") for d in decisions if d.open]


def missing_places(placed: Placements) -> list[Discrepancy]:
    """Return the parts without a side or without coordinates."""
    found = []
    for what, bad, question in (
        ("side unknown", placed.side == Side.UNKNOWN, "on which side of the board?"),
        ("no position", ~(np.isfinite(placed.x_mm) & np.isfinite(placed.y_mm)), "where on the board?"),
    ):
        rows = np.flatnonzero(bad & (placed.kind == Kind.PART))
        if len(rows):
            refs = tuple(placed.ref[i] for i in rows.tolist())
            first = int(rows[0])
            found.append(
                Discrepancy(
                    what,
                    f"{shortened(refs)}: {question}",
                    refs,
                    placed.files[int(placed.file[first])],
                    int(placed.row[first]),
                    "stop",
                )
            )
    return found


def set_apart_by_kind(files: Sequence[PlacementColumns]) -> list[Note]:
    """Return a note for each file that lists the rows set apart as fiducials or as nothing to place."""
    notes = []
    for file in files:
        for kind in (Kind.FIDUCIAL, Kind.MECHANICAL):
            refs = [file.ref[i] for i in np.flatnonzero(file.kind == kind).tolist()]
            if refs:
                first = int(np.flatnonzero(file.kind == kind)[0])
                word = "a fiducial" if kind is Kind.FIDUCIAL else "nothing to place"
                notes.append(
                    Note(
                        f"{len(refs)} rows are set apart as {word}: {shortened(refs)} ({file.reasons[first]})",
                        file.table.file,
                        int(file.row[first]),
                    )
                )
    return notes
