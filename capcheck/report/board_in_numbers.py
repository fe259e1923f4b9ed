"""A board in numbers, for the head of a report: parts by what comes out for them, size, feeder slots, least cycle."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator

from capcheck.checking import Report, parts_by_outcome
from capcheck.planning import least_cycles
from capcheck.report.sentences import size_of
from capcheck.values import counted


def board_in_numbers(report: Report) -> str:
    """Return parts by what comes out for them, board, slots: what the verdict rests on."""
    board = report.board
    placements = board.placements
    parts = parts_by_outcome(report)
    bottom = int((placements.is_part & (placements.side == 1)).sum())
    refs = [placements.ref[row] for row in placements.is_part.nonzero()[0].tolist()]

    def rows(some: Collection[str]) -> int:
        """Return how many rows these references have: a file may give one to several parts."""
        return sum(ref in some for ref in refs)

    pieces = [
        f"{counted(len(refs), 'part')}" + (f" ({bottom} on the bottom)" if bottom else ""),
        f"{rows(parts.proved)} proved placeable" if parts.all_asked else "",
        f"{rows(parts.stopped)} not placeable" if parts.stopped else "",
        f"{rows(parts.only_undecided)} undecided" if parts.only_undecided else "",
        f"{rows(parts.waived)} waived" if parts.waived else "",
        f"{rows(parts.by_hand)} by hand" if parts.by_hand else "",
        f"{counted(rows(parts.bare), 'bare pad')}" if parts.bare else "",
        f"board {size_of(board)}",
        *_slots(report),
        *_cycle(report),
    ]
    return ", ".join(piece for piece in pieces if piece)


def _slots(report: Report) -> Iterator[str]:
    if report.line is None:
        return
    needed, there = (report.session.numbers(f"line.feeder_slots{end}") for end in ("_needed", ""))
    low, high = needed.low[0], needed.high[0]
    if 0 < high < float("inf") and there.low[0] == there.high[0]:
        yield f"{low:g}{'' if low == high else f' to {high:g}'} of {there.low[0]:g} feeder slots"


def _cycle(report: Report) -> Iterator[str]:
    """Yield the least cycle that the profiles' times allow, by side; a plan alone says how fast the line is."""
    found = least_cycles(report)
    if not found:
        return
    # Rounded down, since it is said to be the least.
    seconds = [f"{math.floor(10 * one.seconds + 1e-6) / 10:g} s" for one in found]
    if len(set(seconds)) > 1:
        told = " and ".join(f"{least} {one.side}" for least, one in zip(seconds, found, strict=True))
    else:
        told = seconds[0] + (" a side" if len(found) > 1 else "")
    names = list(dict.fromkeys(one.set_by for one in found))
    panel = " of the panel" if found[0].boards > 1 else ""
    yield f"cycle{panel} at least {told} ({', '.join(names) if all(names) else 'if no part is placed by hand'})"
