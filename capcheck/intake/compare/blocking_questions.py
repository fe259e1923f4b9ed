"""Questions that hold an order back: decisions that are open, parts without a side or a place."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence

import numpy as np

from capcheck.intake.placements import PlacementColumns
from capcheck.model import Decision, Discrepancy, Kind, Placements, Said, SetAside, Severity, Side, Topic, say
from capcheck.values import Place


def open_questions(decisions: Sequence[Decision]) -> list[Discrepancy]:
    """Return a record for each decision that is a guess: it is about that decision and bears its topic."""
    return [
        Discrepancy(d.topic, say("compare.open decision", decision=d), place=d.place, severity=Severity.STOP, about=d)
        for d in decisions
        if d.open
    ]


def part_or_not(files: Sequence[PlacementColumns], placed: Placements) -> list[Discrepancy]:
    """Return a record for each reason for which rows may be parts or not; *placed* are the rows of all *files*."""
    rows: dict[Said, list[int]] = {}
    start = 0
    for file in files:
        for i, question in file.doubted.items():
            rows.setdefault(question, []).append(start + i)
        start += len(file)
    found = []
    for question, same in rows.items():
        refs = tuple(placed.ref[i] for i in same)
        said = say("compare.part or not", question=question)
        found.append(Discrepancy(Topic.PART_OR_NOT, said, refs, placed.place(same[0]), Severity.STOP))
    return found


def left_out(set_aside: Iterable[SetAside], known: Container[str]) -> list[Discrepancy]:
    """Return a record for each row set aside that reads like a part, and names one that is in no other row.

    *known* are the references of the placements and of the lines of the BOM.
    """
    found = []
    for row in set_aside:
        lost = tuple(ref for ref in row.refs if ref not in known)
        if lost or (row.filled and not row.refs):
            key = "compare.left out" if lost else "compare.left out without reference"
            said = say(key, row=row.place.row or 0, reason=row.reason, text=row.text or ", ".join(row.refs))
            found.append(Discrepancy(Topic.LEFT_OUT, said, lost, row.place, Severity.STOP))
    return found


def missing_places(placed: Placements) -> list[Discrepancy]:
    """Return the parts without a side or without coordinates."""
    found = []
    for topic, bad, question in (
        (Topic.SIDE_UNKNOWN, placed.side == Side.UNKNOWN, "compare.which side"),
        (Topic.NO_POSITION, ~(np.isfinite(placed.x_mm) & np.isfinite(placed.y_mm)), "compare.where"),
    ):
        rows = np.flatnonzero(bad & (placed.kind == Kind.PART)).tolist()
        if rows:
            refs = tuple(placed.ref[i] for i in rows)
            place = Place(placed.files[int(placed.file[rows[0]])], int(placed.row[rows[0]]))
            found.append(Discrepancy(topic, say(question), refs, place, Severity.STOP))
    return found
