"""The time that a machine takes for one board, every second as a sum that can be redone by hand.

The times of a head are those of :mod:`capcheck.planning.times.heads`; to them come board transfer, fiducials, a second
stop, gantries that take turns, and lanes. Uptime is no part of a cycle time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from capcheck.machines import Line, MachineProfile
from capcheck.planning.job import Pass
from capcheck.planning.times.heads import HeadTimes, Term, TimeBasis, Work
from capcheck.values import Interval


def single_lane_seconds(transfer: float, fiducials: float, placing: float) -> float:
    """Return the cycle with one lane: transfer, fiducials and placing one after another."""
    return transfer + fiducials + placing


def dual_lane_seconds(transfer: float, fiducials: float, placing: float) -> float:
    """Return the cycle with two lanes, transfer of one hidden behind placing on the other; never below half of all."""
    return max(fiducials + placing, (transfer + fiducials + placing) / 2)


def lanes_hide_transfer(machine: MachineProfile, board: Pass) -> bool | None:
    """Whether both lanes run for this board and hide its transfer: None where its width or the limit is unknown."""
    if machine.board.lanes == 1:
        return False
    limit = machine.board.max_dual_lane_width
    if limit is None:
        return None
    if board.width.high <= limit:
        return True
    return False if board.width.low > limit else None


_MARKS: Final = "number of fiducials read"


class FixedTimes(Struct, frozen=True):
    """What each board takes besides placing, as terms, and what the profile does not state.

    Where the board's length leaves open whether it fits the buffers and stops once, the terms are those of the slow
    end, and *fast_transfer* and *fast_stop* the seconds of the fast one.
    """

    transfer: Term
    fiducials: Term
    stop: Term
    fast_transfer: float
    fast_stop: float
    missing: tuple[str, ...]

    @property
    def on_machine(self) -> float:
        """Seconds in which the board lies in the machine and nothing is placed: no second lane hides them."""
        return self.fiducials.total + self.stop.total

    @property
    def fast_on_machine(self) -> float:
        """The same at the fast end."""
        return self.fiducials.total + self.fast_stop


def fixed_times(machine: MachineProfile, board: Pass) -> FixedTimes:
    """Return board transfer, fiducial reading and second stop of one machine and pass."""
    timing, missing = machine.timing, list[str]()
    transfers = {name: getattr(timing, name) for name in _ways(board.length, machine.board.buffered_length)}
    missing += [name for name, seconds in transfers.items() if seconds is None]
    slow = max(transfers, key=lambda name: transfers[name] or 0.0)
    stops = _is_longer(board.length, machine.board.one_stop_length)
    if stops is not False and timing.second_stop is None:
        missing.append("second_stop")
    marks = None if board.marks is None else board.marks + board.circuits * board.circuit_marks
    if timing.fiducial is None:
        missing.append("fiducial")
    elif marks is None:
        missing.append(_MARKS)
    return FixedTimes(
        transfer=Term(Work.TRANSFER, 1, transfers[slow] or 0.0, f"timing.{slow}"),
        fiducials=Term(Work.FIDUCIAL, marks or 0, timing.fiducial or 0.0, "timing.fiducial"),
        stop=Term(Work.STOP, int(stops is not False), timing.second_stop or 0.0, "timing.second_stop"),
        fast_transfer=min(seconds or 0.0 for seconds in transfers.values()),
        fast_stop=timing.second_stop or 0.0 if stops else 0.0,
        missing=tuple(missing),
    )


def _is_longer(length: Interval, limit: float | None) -> bool | None:
    """Whether a board is longer than a limit of the machine; one without such a limit takes every length alike."""
    if limit is None or length.high <= limit:
        return False
    return True if length.low > limit else None


def _ways(length: Interval, buffered: float | None) -> tuple[str, ...]:
    """Return which times of the profile a board transfer may take."""
    longer = _is_longer(length, buffered)
    both = "board_transfer", "board_transfer_unbuffered"
    return both if longer is None else both[1:] if longer else both[:1]


class HeadLoad(Struct, frozen=True):
    """What a head does for one board: placements, trips, picks from trays, nozzle changes.

    *changes* are those that the known kinds of nozzles need, *most_changes* those that unknown kinds may need.
    """

    times: HeadTimes
    parts: int
    trips: int
    trays: int = 0
    changes: int = 0
    most_changes: int = 0
    by_size: tuple[int, ...] = ()
    """Parts that take longer for their size, by the ranges of the head, at the slow end."""
    by_size_fast: tuple[int, ...] = ()
    """The same at the fast end."""

    def over_board(self, *, fast: bool) -> float:
        """Return the seconds over the board, where one gantry works at a time."""
        sizes = zip(self.times.sizes, self.by_size_fast if fast else self.by_size, strict=False)
        longer = sum(n * one.place for one, n in sizes)
        return self.parts * self.times.over_board + self.trips * self.times.trip_over_board + longer


class GantrySum(Struct, frozen=True):
    """The sum of one gantry: its terms at the slow end, and the seconds of it over the board."""

    gantry: int
    heads: tuple[tuple[str, tuple[Term, ...]], ...]
    over_board: float

    @property
    def total(self) -> float:
        """Seconds of all terms."""
        return sum(t.total for _, terms in self.heads for t in terms)


class MachineTime(Struct, frozen=True):
    """One machine's time for one board, slow end as a sum, with bounds.

    *seconds* spans from the fast end to the slow end with all nozzle changes that there may be; its high end is
    infinite where something is not stated (*missing*): the sum is then "at least". *planned* is the sum of the terms.
    *rated* is the time that placing takes at rated speed alone, for comparison only.
    """

    machine: str
    board: str
    transfer: Term
    fiducials: Term
    stop: Term
    gantries: tuple[GantrySum, ...]
    hidden_transfer: bool
    planned: float
    seconds: Interval
    placing: float
    bases: tuple[TimeBasis, ...]
    missing: tuple[str, ...]
    rated: float | None
    placements: int
    fast: tuple[GantrySum, ...]
    """The gantries at the fast end."""
    fast_placing: float
    fast_hides: bool
    """Whether the fast end counts on the second lane to hide the transfer."""
    most: tuple[GantrySum, ...]
    """The gantries with all nozzle changes that unknown kinds of nozzles may need."""
    most_placing: float
    fast_transfer: float
    fast_stop: float
    """Seconds of board transfer and second stop at the fast end, where the board's length leaves them open."""


def _gantries(loads: Sequence[HeadLoad], *, fast: bool = False, most: bool = False) -> tuple[GantrySum, ...]:
    out = []
    for gantry in sorted({load.times.gantry for load in loads}):
        mine = [load for load in loads if load.times.gantry == gantry]
        heads = []
        for m in mine:
            changes = max(m.most_changes, m.changes) if most else m.changes
            by_size = m.by_size_fast if fast else m.by_size
            terms = m.times.terms(m.parts, m.trips, m.trays, changes, by_size, fast=fast)
            heads.append((m.times.head, tuple(terms)))
        above = sum(m.over_board(fast=fast) for m in mine)
        out.append(GantrySum(gantry, tuple(heads), above))
    return tuple(out)


def _placing(gantries: Sequence[GantrySum]) -> float:
    longest = max((g.total for g in gantries), default=0.0)
    return max(longest, sum(g.over_board for g in gantries)) if len(gantries) > 1 else longest


def machine_time(machine: MachineProfile, board: Pass, loads: Sequence[HeadLoad]) -> MachineTime:
    """Return a machine's time for one board from what each of its heads does.

    Gantries take turns over the board: placing takes the longest gantry's time, or, if that is longer, the sum of all
    their times over the board.
    """
    fixed = fixed_times(machine, board)
    slow, fast, most = _gantries(loads), _gantries(loads, fast=True), _gantries(loads, most=True)
    hides = lanes_hide_transfer(machine, board)
    placing = _placing(slow)
    transfer, marks = fixed.transfer.total, fixed.on_machine
    whole = dual_lane_seconds if hides is True else single_lane_seconds
    planned = whole(transfer, marks, placing)
    longest = whole(transfer, marks, _placing(most))
    shortest = single_lane_seconds if hides is False else dual_lane_seconds
    least = shortest(fixed.fast_transfer, fixed.fast_on_machine, _placing(fast))
    busy = [load for load in loads if load.parts]
    # Fiducials are read in order to place: where nothing is placed, their number leaves nothing open.
    missing = [name for name in fixed.missing if busy or name != _MARKS]
    for load in busy:
        missing += [m for m in load.times.missing if m not in missing]
        missing += ["tray"] if load.trays and machine.timing.tray is None and "tray" not in missing else []
        changing = max(load.changes, load.most_changes)
        missing += ["nozzle_change"] if changing and machine.timing.nozzle_change is None else []
    return MachineTime(
        machine=machine.name,
        board=board.name,
        transfer=fixed.transfer,
        fiducials=fixed.fiducials,
        stop=fixed.stop,
        fast_transfer=fixed.fast_transfer,
        fast_stop=fixed.fast_stop,
        gantries=slow,
        hidden_transfer=hides is True,
        planned=planned,
        seconds=Interval(min(least, planned), math.inf if missing else longest),
        placing=placing,
        bases=tuple(dict.fromkeys(load.times.basis for load in busy)),
        missing=tuple(missing),
        rated=_rated(machine, busy),
        placements=sum(load.parts for load in busy),
        fast=fast,
        fast_placing=_placing(fast),
        fast_hides=hides is not False,
        most=most,
        most_placing=_placing(most),
    )


def _rated(machine: MachineProfile, busy: Sequence[HeadLoad]) -> float | None:
    parts = sum(load.parts for load in busy)
    if machine.rated_per_hour:
        return parts * 3600.0 / machine.rated_per_hour
    rated = [load.times.rated for load in busy]
    if not busy or any(r is None for r in rated):
        return None
    by_gantry: dict[int, float] = {}
    for load in busy:
        seconds = load.parts * (load.times.rated or 0.0)
        by_gantry[load.times.gantry] = by_gantry.get(load.times.gantry, 0.0) + seconds
    return max(by_gantry.values())


def stated_uptime(line: Line, asked: float | None = None) -> float | None:
    """Return the uptime of the line as a whole: as asked for, else as its file states; None where neither says."""
    return line.uptime if asked is None else asked


def uptime(line: Line, asked: float | None = None) -> Interval | None:
    """Return the share of scheduled time in which a line runs: as asked for, as its file states, or by its machines'.

    None where nobody asked and neither the file nor each of the machines states one. Without buffers the line stops
    when any machine stops: at best all stop together (the least uptime), at worst never together (the product).
    """
    whole = stated_uptime(line, asked)
    if whole is not None:
        return Interval.exactly(whole)
    stated = [m.timing.uptime for m in line.machines]
    known = [u for u in stated if u is not None]
    return None if len(known) < len(stated) or not known else Interval(math.prod(known), min(known))
