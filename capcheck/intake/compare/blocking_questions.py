"""What must be asked before anything else: open decisions, parts without side or place, rows set apart."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.lexicon import sentence_of_decision
from capcheck.model import Decision, Discrepancy, Kind, Note, Placements, Severity, Side, Topic
from capcheck.values import Place, shortened

if TYPE_CHECKING:
    from capcheck.intake.placements import PlacementColumns


def open_questions(decisions: Sequence[Decision]) -> list[Discrepancy]:
    """Return a record for each decision that is a guess: its kind is the topic with ``open`` behind it."""
    return [
        Discrepancy(d.topic, sentence_of_decision(d), (), d.place, Severity.STOP, about=d) for d in decisions if d.open
    ]


def missing_places(placed: Placements) -> list[Discrepancy]:
    """Return the parts without a side or without coordinates."""
    found = []
    for what, bad, question in (
        (Topic.SIDE_UNKNOWN, placed.side == Side.UNKNOWN, "on which side of the board?"),
        (Topic.NO_POSITION, ~(np.isfinite(placed.x_mm) & np.isfinite(placed.y_mm)), "where on the board?"),
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
                    Place(placed.files[int(placed.file[first])], int(placed.row[first])),
                    Severity.STOP,
                )
            )
    return found


def set_apart_by_kind(files: Sequence[PlacementColumns]) -> list[Note]:
    """Return a note for each file and each kind that lists the rows set apart: fiducials, holes, test points."""
    notes = []
    for file in files:
        apart: dict[tuple[int, str], list[int]] = defaultdict(list)
        for row in np.flatnonzero(file.kind != Kind.PART).tolist():
            apart[int(file.kind[row]), _what(file.reasons.get(row, ""))].append(row)
        for (kind, what), rows in sorted(apart.items()):
            word = what or ("fiducial" if kind == Kind.FIDUCIAL else "nothing to place")
            evidence = file.reasons.get(rows[0], "").removeprefix(f"{what}: ")
            refs = shortened([file.ref[row] for row in rows])
            many = f"{len(rows)} rows are set apart" if len(rows) > 1 else "one row is set apart"
            plural = "s" * (len(rows) > 1 and word in _COUNTED)
            notes.append(
                Note(f"{many} as {word}{plural}: {refs} ({evidence})", Place(file.table.file, int(file.row[rows[0]])))
            )
    return notes


_COUNTED: Final = frozenset({"fiducial", "hole", "test point", "logo", "solder bridge", "net tie"})


def _what(reason: str) -> str:
    """Return the word before a reason's evidence, such as ``hole``; blank where it has none."""
    what, colon, _ = reason.partition(": ")
    return what if colon and what in _COUNTED | {"drawing", "break-off edge"} else ""
