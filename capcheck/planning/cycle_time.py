"""The time that a machine takes for one board, every second as a sum that can be redone by hand.

Where the profile states pick, place, vision and travel, the time is their sum. Where it states only a rated speed,
the time is placements × 3600 / (rated × derate), within bounds. The two are never mixed within a head, and a rated
speed without a derate is a bound, not an expectation. Uptime is no part of a cycle time.
"""

from __future__ import annotations

import enum
import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from msgspec import Struct

from capcheck.interval import UNKNOWN_SIZE, Interval
from capcheck.machines.profile import Head, MachineProfile, Timing
from capcheck.planning.job import Pass


class TimeBasis(enum.StrEnum):
    """Where the seconds of a placement come from."""

    SUMMED = "sum of the profile's times"
    DERATED = "rated speed × derate"
    RATED_ONLY = "rated speed; no derate stated, so at least this"
    UNKNOWN = "no times and no rated speed in the profile"


class Term(Struct, frozen=True):
    """A line of a sum: *count* times *seconds*, and where the seconds come from."""

    name: str
    count: float
    seconds: float
    note: str = ""

    @property
    def total(self) -> float:
        """Count times seconds."""
        return self.count * self.seconds


def move_seconds(distance: float, speed: float, acceleration: float) -> float:
    """Return the time of an axis move from rest to rest: d/v + v/a, or 2·√(d/a) where it never reaches its speed.

    Lengths in mm. Source: motion-profile textbooks (trapezoidal profile).
    """
    if distance >= speed * speed / acceleration:
        return distance / speed + speed / acceleration
    return 2.0 * math.sqrt(distance / acceleration)


def path_seconds(points: Sequence[tuple[float, float]], speed: float, acceleration: float = math.inf) -> float:
    """Return the time along points in mm where both axes move at once: each move takes the longer axis's time."""
    total = 0.0
    for (x, y), (u, v) in pairwise(points):
        way = max(abs(u - x), abs(v - y))
        total += way / speed if math.isinf(acceleration) else move_seconds(way, speed, acceleration)
    return total


def alternating_seconds(pick_phase: float, place_phase: float) -> float:
    """Return the interval for two trips of two gantries that share one board: max(P + W, 2·W)."""
    return max(pick_phase + place_phase, 2 * place_phase)


def single_lane_seconds(transfer: float, fiducials: float, placing: float) -> float:
    """Return the cycle with one lane: transfer, fiducials and placing one after another."""
    return transfer + fiducials + placing


def dual_lane_seconds(transfer: float, fiducials: float, placing: float) -> float:
    """Return the cycle with two lanes, transfer of one hidden behind placing on the other; never below half of all."""
    return max(fiducials + placing, (transfer + fiducials + placing) / 2)


_MAIN: Final = "pick", "place"


class HeadTimes(Struct, frozen=True):
    """The times of one head as numbers, in seconds; 0.0 for what is not stated, which *missing* then names.

    *placement* is the rated time of one placement with its derate as bounds where the basis is a rated speed.
    """

    head: str
    gantry: int
    basis: TimeBasis
    per_trip: int = 0
    pick: float = 0.0
    place: float = 0.0
    vision: float = 0.0
    way: float = 0.0
    between_parts: float = 0.0
    between_feeders: float = 0.0
    tray: float = 0.0
    change: float = 0.0
    gang: bool = False
    move_notes: tuple[str, str, str] = ("axis move", "axis move", "axis move")
    """How the way to the board, between places and between feeders becomes seconds."""
    placement: Interval = UNKNOWN_SIZE
    placement_note: str = ""
    rated: float | None = None
    """Rated seconds of one placement, before any derate."""
    missing: tuple[str, ...] = ()

    def each(self, *, from_tray: bool = False) -> float:
        """Return the planned seconds of one placement besides its trip: the slow end of what is stated."""
        if self.basis is TimeBasis.UNKNOWN:
            return 0.0
        if self.basis is not TimeBasis.SUMMED:
            rated = self.placement.high if math.isfinite(self.placement.high) else self.placement.low
            return rated + (self.tray if from_tray else 0.0)
        picking = self.pick + self.between_feeders
        return picking + self.place + self.between_parts + (self.tray if from_tray else 0.0)

    @property
    def over_board(self) -> float:
        """Seconds of one placement over the board, where gantries keep out of each other's way."""
        return self.place + self.between_parts if self.basis is TimeBasis.SUMMED else 0.0

    @property
    def trip(self) -> float:
        """Planned seconds of a trip besides its parts: there and back and vision, less the moves that it saves."""
        if self.basis is not TimeBasis.SUMMED:
            return 0.0
        return self.vision + 2 * self.way - self.between_parts - self.between_feeders

    @property
    def trip_over_board(self) -> float:
        """The share of :attr:`trip` over the board: a trip has one move less than it has parts."""
        return -self.between_parts if self.basis is TimeBasis.SUMMED else 0.0

    def terms(self, parts: int, trips: int, trays: int, changes: int, *, fast: bool = False) -> list[Term]:
        """Return the sum for a board: *fast* takes one stroke a trip for gang picking and the derate's better end."""
        if not parts or self.basis is TimeBasis.UNKNOWN:
            return []
        extra = [Term("tray offered", trays, self.tray, "timing.tray")] if trays else []
        extra += [Term("nozzle change", changes, self.change, "timing.nozzle_change")] if changes else []
        if self.basis is not TimeBasis.SUMMED:
            high = self.placement.high if math.isfinite(self.placement.high) else self.placement.low
            seconds = self.placement.low if fast else high
            return [Term("placement at rated speed", parts, seconds, self.placement_note), *extra]
        gang = self.gang and fast
        way, places, feeders = self.move_notes
        trips_text = f"{trips} trip" if trips == 1 else f"{trips} trips"
        rest = f"{parts} − {trips_text}"
        return [
            Term("pick", trips if gang else parts, self.pick, "one stroke a trip" if gang else "timing.pick"),
            *(
                []
                if gang
                else [Term("move between feeders", parts - trips, self.between_feeders, f"{rest}; {feeders}")]
            ),
            Term("way to the board and back", 2 * trips, self.way, f"{trips_text}: {parts} / {self.per_trip}; {way}"),
            Term("vision", trips, self.vision, "timing.vision, once a trip"),
            Term("place", parts, self.place, "timing.place"),
            Term("move between places", parts - trips, self.between_parts, f"{rest}; {places}"),
            *extra,
        ]


def _moves(timing: Timing) -> dict[str, float | None]:
    ways = {
        "travel_to_board": timing.travel_to_board,
        "travel_between_parts": timing.travel_between_parts,
        "travel_between_feeders": timing.travel_between_feeders,
    }
    speed, acceleration = timing.speed, timing.acceleration
    return {
        name: None if d is None or not speed or not acceleration else move_seconds(d, speed, acceleration)
        for name, d in ways.items()
    }


def _move_note(distance: float | None, timing: Timing) -> str:
    """Return how :func:`move_seconds` comes to its number, as a sum."""
    speed, acceleration = timing.speed, timing.acceleration
    if distance is None or not speed or not acceleration:
        return "axis move, not stated"
    if distance >= speed * speed / acceleration:
        return f"{distance:g} mm / {speed:g} mm/s + {speed:g} mm/s / {acceleration:g} mm/s²"
    return f"2 × √({distance:g} mm / {acceleration:g} mm/s²)"


def _rated_seconds(machine: MachineProfile, head: Head) -> float | None:
    """Return rated seconds of one placement by this head; a machine's rate is shared by its gantries evenly."""
    rates = [h.rated for h in machine.head]
    whole = machine.rated
    stated = [r for r in rates if r]
    if head.rated and len(stated) == len(rates):
        # Heads together may be slower than the sum of each alone.
        return 3600.0 / head.rated * (sum(stated) / whole if whole else 1.0)
    if head.rated:
        return 3600.0 / head.rated
    if whole:
        return 3600.0 * len({h.gantry for h in machine.head}) / whole
    return None


def head_times(machine: MachineProfile, head: Head) -> HeadTimes:
    """Return the times of a head from its machine's profile, and on what they are based."""
    timing = machine.timing
    moves = _moves(timing)
    stated: dict[str, float | None] = {
        "pick": timing.pick, "place": timing.place, "vision": timing.vision, "nozzles": head.nozzles, **moves,
    }  # fmt: skip
    missing = [name for name, value in stated.items() if value is None]
    rated = _rated_seconds(machine, head)
    if missing and rated is not None:
        return _rated_times(timing, head, rated)
    if any(stated[name] is None for name in (*_MAIN, "nozzles")):
        return HeadTimes(head.name, head.gantry, TimeBasis.UNKNOWN, missing=tuple(missing))
    known = {name: value or 0.0 for name, value in stated.items()}
    return HeadTimes(
        head.name, head.gantry, TimeBasis.SUMMED, int(known["nozzles"]), known["pick"], known["place"],
        known["vision"], known["travel_to_board"], known["travel_between_parts"], known["travel_between_feeders"],
        gang=timing.gang_pick, rated=rated, missing=tuple(missing),
        tray=timing.tray or 0.0, change=timing.nozzle_change or 0.0, move_notes=(
            _move_note(timing.travel_to_board, timing), _move_note(timing.travel_between_parts, timing),
            _move_note(timing.travel_between_feeders, timing),
        ),
    )  # fmt: skip


def _rated_times(timing: Timing, head: Head, rated: float) -> HeadTimes:
    speed = f"{3600 / rated:,.0f} /h rated"
    if timing.derate is None:
        return HeadTimes(
            head.name, head.gantry, TimeBasis.RATED_ONLY, placement=Interval(rated, math.inf),
            placement_note=f"3600 / {speed}", rated=rated, missing=("derate",),
            tray=timing.tray or 0.0, change=timing.nozzle_change or 0.0,
        )  # fmt: skip
    low, high = timing.derate
    return HeadTimes(
        head.name, head.gantry, TimeBasis.DERATED, placement=Interval(rated / high, rated / low),
        placement_note=f"3600 / ({speed} × derate {low:g} to {high:g})", rated=rated,
        tray=timing.tray or 0.0, change=timing.nozzle_change or 0.0,
    )  # fmt: skip


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


class FixedTimes(Struct, frozen=True):
    """What each board takes besides placing, as terms, and what the profile does not state."""

    transfer: Term
    fiducials: Term
    missing: tuple[str, ...]


def fixed_times(machine: MachineProfile, board: Pass) -> FixedTimes:
    """Return board transfer and fiducial reading of one machine and pass."""
    timing = machine.timing
    missing = []
    if timing.board_transfer is None:
        missing.append("board_transfer")
    marks = None if board.marks is None else board.marks + board.circuits * board.circuit_marks
    if timing.fiducial is None:
        missing.append("fiducial")
    elif marks is None:
        missing.append("number of fiducials read")
    return FixedTimes(
        Term("board transfer", 1, timing.board_transfer or 0.0, "timing.board_transfer"),
        Term("fiducial", marks or 0, timing.fiducial or 0.0, "timing.fiducial"),
        tuple(missing),
    )


class HeadLoad(Struct, frozen=True):
    """What a head does for one board: placements, trips, picks from trays, nozzle changes."""

    times: HeadTimes
    parts: int
    trips: int
    trays: int = 0
    changes: int = 0


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

    *seconds* spans from the fast to the slow end; its high end is infinite where something is not stated
    (*missing*): the sum is then "at least". *planned* is the sum of the terms. *rated* is the time that placing
    takes at rated speed alone, for comparison only.
    """

    machine: str
    board: str
    transfer: Term
    fiducials: Term
    gantries: tuple[GantrySum, ...]
    hidden_transfer: bool
    planned: float
    seconds: Interval
    placing: float
    bases: tuple[TimeBasis, ...]
    missing: tuple[str, ...]
    rated: float | None
    placements: int
    fast: tuple[GantrySum, ...] = ()
    """The gantries at the fast end."""
    fast_placing: float = 0.0
    fast_hides: bool = False
    """Whether the fast end counts on the second lane to hide the transfer."""


def _gantries(loads: Sequence[HeadLoad], *, fast: bool) -> tuple[GantrySum, ...]:
    out = []
    for gantry in sorted({load.times.gantry for load in loads}):
        mine = [load for load in loads if load.times.gantry == gantry]
        heads = tuple(
            (m.times.head, tuple(m.times.terms(m.parts, m.trips, m.trays, m.changes, fast=fast))) for m in mine
        )
        above = sum(m.parts * m.times.over_board + m.trips * m.times.trip_over_board for m in mine)
        out.append(GantrySum(gantry, heads, above))
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
    slow, fast = _gantries(loads, fast=False), _gantries(loads, fast=True)
    hides = lanes_hide_transfer(machine, board)
    placing = _placing(slow)
    transfer, marks = fixed.transfer.total, fixed.fiducials.total
    planned = (dual_lane_seconds if hides is True else single_lane_seconds)(transfer, marks, placing)
    least = (single_lane_seconds if hides is False else dual_lane_seconds)(transfer, marks, _placing(fast))
    busy = [load for load in loads if load.parts]
    missing = [*fixed.missing]
    for load in busy:
        missing += [m for m in load.times.missing if m not in missing]
        missing += ["tray"] if load.trays and machine.timing.tray is None and "tray" not in missing else []
        missing += ["nozzle_change"] if load.changes and machine.timing.nozzle_change is None else []
    return MachineTime(
        machine.name, board.name, fixed.transfer, fixed.fiducials, slow, hides is True, planned,
        Interval(min(least, planned), math.inf if missing else planned), placing,
        tuple(dict.fromkeys(load.times.basis for load in busy)), tuple(missing), _rated(machine, busy),
        sum(load.parts for load in busy), fast, _placing(fast), hides is not False,
    )  # fmt: skip


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


def uptime(machines: Sequence[MachineProfile]) -> Interval | None:
    """Return the share of scheduled time in which a line runs, None if a machine states none.

    Without buffers the line stops when any machine stops: at best all stop together (the least uptime), at worst
    never together (the product).
    """
    stated = [m.timing.uptime for m in machines]
    known = [u for u in stated if u is not None]
    return None if len(known) < len(stated) or not known else Interval(math.prod(known), min(known))
