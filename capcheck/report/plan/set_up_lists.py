"""Lists for the floor, as CSV: what to mount where, and what to place by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct

from capcheck.lexicon import sentence
from capcheck.planning import Feeder, Plan, SetUp
from capcheck.report.plan.spans import reasons
from capcheck.report.spreadsheet_cells import csv_text, with_cautions
from capcheck.values import Interval, number_of

SET_UP_COLUMNS = (
    "set-up",
    "machine",
    "gantry",
    "bank",
    "slot",
    "slots",
    "part number",
    "value",
    "package",
    "nozzle",
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
    return csv_text(with_cautions(set_up_rows(plan)))


def _in_full(refs: Sequence[str]) -> str:
    return " ".join(refs)


def set_up_rows(plan: Plan, told: Callable[[Sequence[str]], str] = _in_full) -> list[tuple[object, ...]]:
    """Return the rows of the set-up list, the headings first; *told* writes references, which come in order."""
    rows: list[tuple[object, ...]] = [SET_UP_COLUMNS]
    parts = {part.name: part for part in plan.job.parts}
    tightest: dict[tuple[str, str], Interval] = {}
    for placing in plan.placings:
        if placing.used and not placing.missing:
            tightest.setdefault((placing.machine, placing.part), placing.capability.cpk)
    for set_up in plan.set_ups:
        for f in set_up.feeders:
            cpk = tightest.get((f.machine, f.part))
            refills = [
                passes * plan.job.passes[p].boards
                for p, passes in zip(set_up.passes, f.passes_between_refills, strict=True)
                if passes is not None
            ]
            rows.append(
                (
                    sentence(set_up.name),
                    f.machine,
                    "" if f.gantry is None else f.gantry,
                    f.bank,
                    slot_text(f),
                    _shown(f.slots),
                    f.part,
                    parts[f.part].value,
                    parts[f.part].package,
                    parts[f.part].nozzle or "",
                    f.supply or "unknown",
                    _shown(f.tape_width),
                    _shown(f.tape_pitch),
                    " + ".join(map(str, f.counts)),
                    f"{min(refills):.1f}" if refills else "",
                    references(plan, set_up, f, told),
                    "" if cpk is None else _shown(Interval(round(cpk.low, 2), round(cpk.high, 2))),
                    "; ".join(reasons(f.undecided)),
                )
            )
    return rows


def references(plan: Plan, set_up: SetUp, feeder: Feeder, told: Callable[[Sequence[str]], str] = _in_full) -> str:
    """Return what a feeder places, in order: of several boards by board, as they may share designators."""
    by_board: dict[str, list[str]] = {}
    for p, refs in zip(set_up.passes, feeder.refs, strict=True):
        if refs:
            by_board.setdefault(plan.job.passes[p].board, []).extend(refs)
    listed = {board: told(sorted(refs, key=number_of)) for board, refs in by_board.items()}
    if len({one.board for one in plan.job.passes}) == 1:
        return "".join(listed.values())
    return "; ".join(f"{board}: {refs}" for board, refs in listed.items())


class HandRow(Struct, frozen=True):
    """What a hand places of one part number in one pass; *each* is the time for one, seconds, None if not given."""

    board: str
    part: str
    count: int
    each: float | None
    refs: tuple[str, ...]
    why: str

    def cells(self, told: Callable[[Sequence[str]], str] = _in_full) -> tuple[object, ...]:
        """Return the row in the order of :data:`HAND_COLUMNS`; *told* writes references."""
        times = ("", "") if self.each is None else (f"{self.each:g}", f"{self.each * self.count:g}")
        return (self.board, self.part, self.count, *times, told(sorted(self.refs, key=number_of)), self.why)


def hand_list(
    plan: Plan, through_holes: Mapping[tuple[str, str], Sequence[str]] | None = None, each: float | None = None
) -> str:
    """Return what is placed by hand as CSV, as :func:`hand_rows` has it."""
    rows = [row.cells() for row in hand_rows(plan, through_holes, each)]
    return csv_text(with_cautions([HAND_COLUMNS, *rows]))


def hand_rows(
    plan: Plan, through_holes: Mapping[tuple[str, str], Sequence[str]] | None = None, each: float | None = None
) -> list[HandRow]:
    """Return what is placed by hand: what the machines leave over, then what has leads through holes.

    *through_holes* are references by board and part number, counted for all boards of a panel; *each* is the time to
    place one by hand, seconds.
    """
    left = {name for name, _ in plan.shortage.take_off} if plan.shortage else set()
    placed = {
        (f.part, p) for s in plan.set_ups for f in s.feeders for p, c in zip(s.passes, f.counts, strict=True) if c
    }
    counts = plan.job.counts()
    rows = [
        HandRow(
            board.name,
            part.name,
            int(counts[j, p]),
            part.hand_seconds,
            part.refs[p] if part.refs else (),
            "no machine of the line can place it, or no slot is left",
        )
        for j, part in enumerate(plan.job.parts)
        for p, board in enumerate(plan.job.passes)
        if part.name in left and counts[j, p] and (part.name, p) not in placed
    ]
    circuits = {board.board: board.circuits for board in plan.job.passes}
    return rows + [
        HandRow(board, name, len(refs) * circuits.get(board, 1), each, tuple(refs), "through-hole")
        for (board, name), refs in (through_holes or {}).items()
    ]
