"""Lists for the floor, as CSV: what to mount where, and what to place by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from capcheck.lexicon import sentence
from capcheck.planning import Feeder, Plan
from capcheck.report.plan.spans import reasons
from capcheck.report.spreadsheet_cells import csv_text, with_cautions
from capcheck.values import Interval

SET_UP_COLUMNS = (
    "set-up",
    "machine",
    "gantry",
    "slot",
    "slots",
    "part number",
    "supply",
    "tape width mm",
    "tape pitch mm",
    "placements per pass",
    "boards per reel",
    "references",
    "Cpk",
    "not proved",
)
HAND_COLUMNS = ("board", "part number", "placements per pass", "seconds each", "seconds", "references", "why")


def _shown(value: Interval) -> str:
    if not value.is_known:
        return ""
    return f"{value.low:g}" if value.is_exact else f"{value.low:g} to {value.high:g}"


def slot_text(feeder: Feeder) -> str:
    """Return the slots kept for a feeder, as the next one stands behind them: ``11–13`` where it takes two or three."""
    if feeder.slot is None:
        return "tray" if feeder.supply == "tray" else ""
    last = feeder.slot + feeder.slots.high - 1
    return f"{feeder.slot:g}" if last <= feeder.slot else f"{feeder.slot:g}–{last:g}"


def set_up_list(plan: Plan) -> str:
    """Return the feeders and trays of all set-ups as CSV: machine, slot, part number, tape, references."""
    rows: list[tuple[object, ...]] = [SET_UP_COLUMNS]
    tightest: dict[tuple[str, str], Interval] = {}
    for placing in plan.placings:
        if placing.used and not placing.missing:
            tightest.setdefault((placing.machine, placing.part), placing.capability.cpk)
    for set_up in plan.set_ups:
        for f in set_up.feeders:
            cpk = tightest.get((f.machine, f.part))
            refills = [b for b in f.passes_between_refills if b is not None]
            rows.append(
                (
                    sentence(set_up.name),
                    f.machine,
                    f.gantry,
                    slot_text(f),
                    _shown(f.slots),
                    f.part,
                    f.supply or "unknown",
                    _shown(f.tape_width),
                    _shown(f.tape_pitch),
                    " + ".join(map(str, f.counts)),
                    f"{min(refills):.1f}" if refills else "",
                    " ".join(r for refs in f.refs for r in refs),
                    "" if cpk is None else _shown(Interval(round(cpk.low, 2), round(cpk.high, 2))),
                    "; ".join(reasons(f.undecided)),
                )
            )
    return csv_text(with_cautions(rows))


def hand_list(
    plan: Plan, through_holes: Mapping[tuple[str, str], Sequence[str]] | None = None, each: float | None = None
) -> str:
    """Return what is placed by hand as CSV: what the machines leave over, then what has leads through holes.

    *through_holes* are references by board and part number; *each* is the time to place one by hand, seconds.
    """
    rows: list[tuple[object, ...]] = [HAND_COLUMNS]
    left = {name for name, _ in plan.shortage.take_off} if plan.shortage else set()
    placed = {
        (f.part, p) for s in plan.set_ups for f in s.feeders for p, c in zip(s.passes, f.counts, strict=True) if c
    }
    counts = plan.job.counts()
    for j, part in enumerate(plan.job.parts):
        for p, board in enumerate(plan.job.passes):
            count = int(counts[j, p])
            if part.name not in left or not count or (part.name, p) in placed:
                continue
            rows.append(
                (
                    board.name,
                    part.name,
                    count,
                    *_by_hand(part.hand_seconds, count),
                    " ".join(part.refs[p]) if part.refs else "",
                    "no machine of the line takes it, or no place is left",
                )
            )
    for (board_name, name), refs in (through_holes or {}).items():
        seconds = _by_hand(each, len(refs))
        rows.append((board_name, name, len(refs), *seconds, " ".join(refs), "through-hole"))
    return csv_text(with_cautions(rows))


def _by_hand(each: float | None, count: int) -> tuple[str, str]:
    return ("", "") if each is None else (f"{each:g}", f"{each * count:g}")
