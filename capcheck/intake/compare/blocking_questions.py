"""Questions that hold an order back: decisions that are open, parts without a side or a place."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from capcheck.model import Decision, Discrepancy, Kind, Placements, Severity, Side, Topic, say
from capcheck.values import Place


def open_questions(decisions: Sequence[Decision]) -> list[Discrepancy]:
    """Return a record for each decision that is a guess: it is about that decision and bears its topic."""
    return [
        Discrepancy(d.topic, say("compare.open decision", decision=d), place=d.place, severity=Severity.STOP, about=d)
        for d in decisions
        if d.open
    ]


def missing_places(placed: Placements) -> list[Discrepancy]:
    """Return the parts without a side or without coordinates."""
    found = []
    # Where a file does state a place, and it is open all the same, that has been said with both places.
    stated = placed.place_open if placed.place_open is not None else np.zeros(len(placed), dtype=np.bool_)
    for topic, bad, question in (
        (Topic.SIDE_UNKNOWN, placed.side == Side.UNKNOWN, "compare.which side"),
        (Topic.NO_POSITION, ~(np.isfinite(placed.x_mm) & np.isfinite(placed.y_mm)), "compare.where"),
    ):
        rows = np.flatnonzero(bad & ~stated & (placed.kind == Kind.PART)).tolist()
        if rows:
            refs = tuple(placed.ref[i] for i in rows)
            place = Place(placed.files[int(placed.file[rows[0]])], int(placed.row[rows[0]]))
            found.append(Discrepancy(topic, say(question, refs=refs), refs, place, Severity.STOP))
    return found
