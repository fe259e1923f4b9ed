"""What a line delivers: takt, balance, boards per hour, output per floor area, length. Seconds and mm throughout."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from capcheck.machines import Line, MachineProfile
from capcheck.values import Interval, total


def takt(available_hours: float, boards: float, share: float = 1.0) -> float:
    """Return the seconds that each board may take: available time × share that is used / boards.

    Raises ValueError where hours, boards or share are not above zero.
    """
    if min(available_hours, boards, share) <= 0:
        raise ValueError("a takt needs hours, boards and a share above zero")
    return available_hours * 3600.0 * share / boards


def balance_efficiency(station_seconds: Sequence[float]) -> float:
    """Return Σ station times / (stations × slowest): 1 where all stations take the same time."""
    slowest = max(station_seconds)
    return sum(station_seconds) / (len(station_seconds) * slowest) if slowest > 0 else 1.0


def per_hour(cycle: float) -> float:
    """Return boards per hour at a cycle time."""
    return 3600.0 / cycle if cycle > 0 else math.inf


class Floor(Struct, frozen=True):
    """Length and area of a line, as far as the profiles state them."""

    length_mm: float | None
    free_length_mm: float | None
    machine_area_m2: float | None
    missing: tuple[str, ...]

    @property
    def fits(self) -> bool | None:
        """Whether the line fits the free length; None where either is unknown."""
        if self.length_mm is None or self.free_length_mm is None:
            return None
        return self.length_mm <= self.free_length_mm


def floor_of(line: Line) -> Floor:
    """Return the floor that a line takes: machines and stations along it, and the machines' own area."""
    missing = tuple(name for name, length in line.lengths if length is None)
    total = None if missing else sum(length or 0.0 for _, length in line.lengths)
    return Floor(total, line.file.free_length if line.file is not None else None, area_of(line.machines), missing)


def area_of(machines: Sequence[MachineProfile]) -> float | None:
    """Return the machines' own floor area in m², None if one does not state it."""
    sides = [(m.floor_width, m.floor_depth) for m in machines]
    if any(w is None or d is None for w, d in sides):
        return None
    return sum((w or 0.0) * (d or 0.0) for w, d in sides) * 1e-6


class StationTime(Struct, frozen=True):
    """One station's time for one board: within bounds, and as planned (slow end of what is stated)."""

    name: str
    planned: float
    seconds: Interval
    places: bool


class PassFigures(Struct, frozen=True):
    """What the line delivers of one board.

    *cycle* is the slowest station's time within bounds and *planned* its slow end as far as stated; *untimed* names
    stations whose time is unknown, so that the cycle is "at least". *takt* is what the demand allows.
    """

    board: str
    stations: tuple[StationTime, ...]
    planned: float
    cycle: Interval
    bottleneck: str
    efficiency: float
    placements: int
    takt: float | None
    untimed: tuple[str, ...]

    @property
    def boards_per_hour(self) -> Interval:
        """Boards per hour while the line runs."""
        return Interval(per_hour(self.cycle.high) if self.cycle.high else 0.0, per_hour(self.cycle.low))

    @property
    def placements_per_hour(self) -> Interval:
        """Placements per hour while the line runs."""
        return self.boards_per_hour.scaled(self.placements) if self.cycle.low > 0 else Interval(0.0, math.inf)

    @property
    def keeps_takt(self) -> bool | None:
        """Whether the cycle keeps the takt: True or False where proved, else None."""
        if self.takt is None:
            return None
        if self.cycle.high <= self.takt:
            return True
        return False if self.cycle.low > self.takt else None


def pass_figures(
    board: str, machines: Sequence[StationTime], line: Line, placements: int, takt_seconds: float | None
) -> PassFigures:
    """Return the figures of one pass from its machines' times; printer, oven and the like join as stations."""
    stations = list(machines)
    untimed = [s.name for s in machines if not math.isfinite(s.seconds.high)]
    for other in line.stations:
        if other.cycle is None:
            untimed.append(other.name)
        else:
            stations.append(StationTime(other.name, other.cycle, Interval.exactly(other.cycle), places=False))
    slowest = max(stations, key=lambda s: s.planned)
    high = math.inf if untimed else max(s.seconds.high for s in stations)
    cycle = Interval(max(s.seconds.low for s in stations), high)
    efficiency = balance_efficiency([s.planned for s in machines])
    return PassFigures(
        board=board,
        stations=tuple(stations),
        planned=slowest.planned,
        cycle=cycle,
        bottleneck=slowest.name,
        efficiency=efficiency,
        placements=placements,
        takt=takt_seconds,
        untimed=tuple(untimed),
    )


class BoardFigures(Struct, frozen=True):
    """What the line delivers of one board that passes it once for each side it is placed on.

    *cycles* are those of its passes; *pieces* the boards that one panel gives.
    """

    board: str
    cycles: tuple[Interval, ...]
    pieces: int

    @property
    def sides(self) -> int:
        """How often the board passes the line."""
        return len(self.cycles)

    @property
    def seconds(self) -> Interval:
        """Seconds of line time for one panel, all passes together."""
        return total(self.cycles)

    @property
    def seconds_a_board(self) -> Interval:
        """Seconds of line time for each of the panel's boards."""
        return self.seconds.scaled(1 / self.pieces)

    @property
    def per_hour(self) -> Interval:
        """Finished boards per hour while the line runs."""
        seconds = self.seconds
        low = self.pieces * per_hour(seconds.high) if math.isfinite(seconds.high) else 0.0
        return Interval(low, self.pieces * per_hour(seconds.low))

    def per_scheduled_hour(self, uptime: Interval) -> Interval:
        """Return finished boards per scheduled hour: those while the line runs times the uptime."""
        return Interval(self.per_hour.low * uptime.low, self.per_hour.high * uptime.high)
