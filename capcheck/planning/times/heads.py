"""The times of one head from its machine's profile: pick, travel, vision, place, or a rated speed with its derate.

Where the profile states pick, place, vision and travel, the time is their sum. Where it states only a rated speed,
the time is placements × 3600 / (rated × derate), within bounds. The two are never mixed within a head, and a rated
speed without a derate is a bound, not an expectation.
"""

from __future__ import annotations

import enum
import math
from collections.abc import Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.machines import Head, MachineProfile, Timing
from capcheck.model import Said, say
from capcheck.planning.times.size_times import SizeTime, size_of, times_by_size
from capcheck.values import UNKNOWN_SIZE, Interval


class TimeBasis(enum.StrEnum):
    """Where the seconds of a placement come from. The value is the phrase that reports use."""

    SUMMED = "sum of the profile's times"
    DERATED = "rated speed × derate"
    RATED_ONLY = "rated speed; no derate stated, so at least this"
    UNKNOWN = "no times and no rated speed in the profile"


class Work(enum.StrEnum):
    """What a machine spends seconds on. The value is the name that reports use."""

    TRANSFER = "board transfer"
    FIDUCIAL = "fiducial"
    STOP = "second stop"
    PICK = "pick"
    BETWEEN_FEEDERS = "move between feeders"
    WAY = "travel to the board and back"
    VISION = "vision"
    PLACE = "place"
    BETWEEN_PLACES = "move between places"
    AT_RATED_SPEED = "placement at rated speed"
    TRAY = "tray offered"
    SIZE = "longer for the body's size"
    NOZZLE_CHANGE = "nozzle change"


class Term(Struct, frozen=True):
    """A line of a sum: *count* times *seconds*, and where they come from: a key of the profile, or a sum itself."""

    work: Work
    count: float
    seconds: float
    source: Said | str

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
    moves: tuple[Said, ...] = ()
    """How the way to the board, between places and between feeders becomes seconds."""
    placement: Interval = UNKNOWN_SIZE
    placement_source: Said | str = ""
    rated: float | None = None
    """Rated seconds of one placement, before any derate."""
    missing: tuple[str, ...] = ()
    sizes: tuple[SizeTime, ...] = ()
    """What parts take longer for their size, by the ranges of the head; empty where they state no times."""

    def longer(self, length: Interval) -> tuple[float, float]:
        """Return what a part with this longer side takes longer at the slow end, and how much of it over the board."""
        at = size_of(length, self.sizes)
        return (0.0, 0.0) if at is None else (self.sizes[at].slow, self.sizes[at].place)

    def least_longer(self, length: Interval) -> float:
        """Return what a part with this longer side takes longer at the fast end."""
        at = size_of(length, self.sizes, fast=True)
        return 0.0 if at is None else self.sizes[at].fast

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

    @property
    def least(self) -> float:
        """Seconds of one placement at the fast end, in trips that are as full as can be: no sum of terms is less."""
        if self.basis is TimeBasis.UNKNOWN:
            return 0.0
        if self.basis is not TimeBasis.SUMMED:
            return self.placement.low
        part = self.place + self.between_parts + (0.0 if self.gang else self.pick + self.between_feeders)
        trip = self.trip + (self.pick + self.between_feeders if self.gang else 0.0)
        # A trip may cost less than the moves that it saves: then the least is a trip for each part.
        return part + (trip / self.per_trip if trip > 0 else trip)

    def terms(
        self, parts: int, trips: int, trays: int, changes: int, by_size: Sequence[int] = (), *, fast: bool = False
    ) -> list[Term]:
        """Return the sum for a board: *fast* takes one stroke a trip for gang picking and the derate's better end.

        *by_size* are the parts of each range of :attr:`sizes` that count as lying in it.
        """
        if not parts or self.basis is TimeBasis.UNKNOWN:
            return []
        extra = [
            Term(Work.SIZE, n, one.fast if fast else one.slow, _size_said(one))
            for one, n in zip(self.sizes, by_size, strict=False)
            if n and one.slow
        ]
        extra += [Term(Work.TRAY, trays, self.tray, "timing.tray")] if trays else []
        extra += [Term(Work.NOZZLE_CHANGE, changes, self.change, "timing.nozzle_change")] if changes else []
        if self.basis is not TimeBasis.SUMMED:
            high = self.placement.high if math.isfinite(self.placement.high) else self.placement.low
            seconds = self.placement.low if fast else high
            return [Term(Work.AT_RATED_SPEED, parts, seconds, self.placement_source), *extra]
        way, places, feeders = self.moves

        def between(work: Work, seconds: float, move: Said) -> Term:
            # A trip has one move less than it has parts.
            return Term(work, parts - trips, seconds, say("planning.moves", parts=parts, trips=trips, move=move))

        if self.gang and fast:
            picking = [Term(Work.PICK, trips, self.pick, say("planning.one stroke a trip"))]
        else:
            picking = [
                Term(Work.PICK, parts, self.pick, "timing.pick"),
                between(Work.BETWEEN_FEEDERS, self.between_feeders, feeders),
            ]
        ways = say("planning.ways", parts=parts, trips=trips, per_trip=self.per_trip, move=way)
        return [
            *picking,
            Term(Work.WAY, 2 * trips, self.way, ways),
            Term(Work.VISION, trips, self.vision, say("planning.once a trip", source="timing.vision")),
            Term(Work.PLACE, parts, self.place, "timing.place"),
            between(Work.BETWEEN_PLACES, self.between_parts, places),
            *extra,
        ]


def _size_said(one: SizeTime) -> Said:
    return say("planning.longer", over=one.over, up_to=one.up_to, bounded=math.isfinite(one.up_to))


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


def _move(distance: float | None, timing: Timing) -> Said:
    """Return how :func:`move_seconds` comes to its number, as a sum."""
    speed, acceleration = timing.speed, timing.acceleration
    if distance is None or not speed or not acceleration:
        return say("planning.move not stated")
    if distance >= speed * speed / acceleration:
        return say("planning.long move", distance=distance, speed=speed, acceleration=acceleration)
    return say("planning.short move", distance=distance, acceleration=acceleration)


def _rated_seconds(machine: MachineProfile, head: Head) -> float | None:
    """Return rated seconds of one placement by this head; a machine's rate is shared by its gantries evenly."""
    if head.rated:
        # Heads together may be slower than the sum of each alone.
        return 3600.0 / head.rated * machine.slower_together
    if machine.rated:
        return 3600.0 * len({h.gantry for h in machine.head}) / machine.rated
    return None


def head_times(machine: MachineProfile, head: Head) -> HeadTimes:
    """Return the times of a head from its machine's profile, and on what they are based."""
    timing = machine.timing
    moves = _moves(timing)
    stated: dict[str, float | None] = {
        "pick": timing.pick,
        "place": timing.place,
        "vision": timing.vision,
        "nozzles": head.nozzles,
        **moves,
    }
    missing = [name for name, value in stated.items() if value is None]
    rated, sizes = _rated_seconds(machine, head), times_by_size(machine, head)
    if rated is not None and not machine.sums(head):
        return replace(_rated_times(timing, head, rated), sizes=sizes)
    if any(stated[name] is None for name in (*_MAIN, "nozzles")):
        return HeadTimes(head.name, head.gantry, TimeBasis.UNKNOWN, missing=tuple(missing))
    known = {name: value or 0.0 for name, value in stated.items()}
    ways = (timing.travel_to_board, timing.travel_between_parts, timing.travel_between_feeders)
    return HeadTimes(
        head=head.name,
        gantry=head.gantry,
        basis=TimeBasis.SUMMED,
        per_trip=int(known["nozzles"]),
        pick=known["pick"],
        place=known["place"],
        vision=known["vision"],
        way=known["travel_to_board"],
        between_parts=known["travel_between_parts"],
        between_feeders=known["travel_between_feeders"],
        tray=timing.tray or 0.0,
        change=timing.nozzle_change or 0.0,
        gang=timing.gang_pick,
        moves=tuple(_move(way, timing) for way in ways),
        rated=rated,
        missing=tuple(missing),
        sizes=sizes,
    )


def _rated_times(timing: Timing, head: Head, rated: float) -> HeadTimes:
    """Return times by the rated speed: within the derate's bounds, without a derate a bound alone."""
    rate = 3600 / rated
    if timing.derate is None:
        placement, source = Interval(rated, math.inf), say("planning.rated", rate=rate)
    else:
        low, high = timing.derate
        placement = Interval(rated / high, rated / low)
        source = say("planning.derated", rate=rate, low=low, high=high)
    return HeadTimes(
        head=head.name,
        gantry=head.gantry,
        basis=TimeBasis.RATED_ONLY if timing.derate is None else TimeBasis.DERATED,
        placement=placement,
        placement_source=source,
        rated=rated,
        missing=("derate",) if timing.derate is None else (),
        tray=timing.tray or 0.0,
        change=timing.nozzle_change or 0.0,
    )
