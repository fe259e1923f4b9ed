"""The times of one head from its machine's profile: pick, travel, vision, place, or a rated speed with its derate.

Where the profile states pick, place, vision and travel, the time is their sum. Where it states only a rated speed,
the time is placements × 3600 / (rated × derate), within bounds. The two are never mixed within a head, and a rated
speed without a derate is a bound, not an expectation.
"""

from __future__ import annotations

import enum
import math
from typing import Final

from msgspec import Struct

from capcheck.machines import Head, MachineProfile, Timing
from capcheck.values import UNKNOWN_SIZE, Interval


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
        "pick": timing.pick,
        "place": timing.place,
        "vision": timing.vision,
        "nozzles": head.nozzles,
        **moves,
    }
    missing = [name for name, value in stated.items() if value is None]
    rated = _rated_seconds(machine, head)
    if missing and rated is not None:
        return _rated_times(timing, head, rated)
    if any(stated[name] is None for name in (*_MAIN, "nozzles")):
        return HeadTimes(head.name, head.gantry, TimeBasis.UNKNOWN, missing=tuple(missing))
    known = {name: value or 0.0 for name, value in stated.items()}
    return HeadTimes(
        head.name,
        head.gantry,
        TimeBasis.SUMMED,
        int(known["nozzles"]),
        known["pick"],
        known["place"],
        known["vision"],
        known["travel_to_board"],
        known["travel_between_parts"],
        known["travel_between_feeders"],
        gang=timing.gang_pick,
        rated=rated,
        missing=tuple(missing),
        tray=timing.tray or 0.0,
        change=timing.nozzle_change or 0.0,
        move_notes=(
            _move_note(timing.travel_to_board, timing),
            _move_note(timing.travel_between_parts, timing),
            _move_note(timing.travel_between_feeders, timing),
        ),
    )


def _rated_times(timing: Timing, head: Head, rated: float) -> HeadTimes:
    speed = f"{3600 / rated:,.0f} /h rated"
    if timing.derate is None:
        return HeadTimes(
            head.name,
            head.gantry,
            TimeBasis.RATED_ONLY,
            placement=Interval(rated, math.inf),
            placement_note=f"3600 / {speed}",
            rated=rated,
            missing=("derate",),
            tray=timing.tray or 0.0,
            change=timing.nozzle_change or 0.0,
        )
    low, high = timing.derate
    return HeadTimes(
        head.name,
        head.gantry,
        TimeBasis.DERATED,
        placement=Interval(rated / high, rated / low),
        placement_note=f"3600 / ({speed} × derate {low:g} to {high:g})",
        rated=rated,
        tray=timing.tray or 0.0,
        change=timing.nozzle_change or 0.0,
    )
