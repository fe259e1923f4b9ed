"""The plan: who places what, what it takes, how fast the line is with it, and what could not be worked out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct, field

from capcheck.engine import Take
from capcheck.machines import Line
from capcheck.model import Said
from capcheck.planning.hours_and_costs import BoardCost, BreakEven, Demand
from capcheck.planning.job import Job
from capcheck.planning.part_accuracy import Placing
from capcheck.planning.search import Feeders, SetUpOrder, Status
from capcheck.planning.stations_of_line import Strictness
from capcheck.planning.times import BoardFigures, Floor, MachineTime, Occupied, PassFigures, place_name
from capcheck.values import Interval

Verdict = Literal["pass", "warn", "fail", "unanswered"]


class PlanSettings(Struct, frozen=True):
    """What a plan is asked for.

    *split* allows a part number on several machines, a feeder on each. *set_up* is ``common`` (one for all passes),
    ``each`` (one for each pass) or ``auto`` (common if it fits, else as few as are found). *hours_per_year* are the
    scheduled hours that demand is set against, *uptime* the share of them in which any line runs, whatever its file and
    profiles state. *time_limit* (seconds for all searches together) and *gap* (share) end the search. *thorough* looks
    for the fewest feeders that keep the cycle, else only those are saved that can simply be taken away.
    """

    split: bool = True
    set_up: str = "auto"
    hours_per_year: float | None = None
    uptime: float | None = None
    time_limit: float = 10.0
    gap: float = 0.001
    thorough: bool = True


class Feeder(Struct, frozen=True):
    """A feeder or tray of a set-up: where it stands, what is in it, and what it gives to each pass of the set-up.

    *slot* is the first slot, counted from 1 in each machine or as its banks number them; None for trays and where slots
    are not known exactly. *bank* is empty on machines that state none; *gantry* is None where several pick from it.
    *undecided* is what is not proved about this part on this machine: of its heads, or of its feeder. *counts* and
    *passes_between_refills* are by pass of the set-up: of a panel where the conveyor carries one.
    """

    machine: str
    gantry: int | None
    heads: tuple[str, ...]
    part: str
    supply: str | None
    tape_width: Interval
    tape_pitch: Interval
    slots: Interval
    slot: float | None
    counts: tuple[int, ...]
    refs: tuple[tuple[str, ...], ...]
    passes_between_refills: tuple[float | None, ...]
    undecided: tuple[Take | Said | str, ...]
    bank: str = ""

    @property
    def where(self) -> str:
        """The machine, with its bank where it has some."""
        return place_name(self.machine, self.bank)


class SetUp(Struct, frozen=True):
    """One set-up of the line and the passes that run on it.

    *times* are by pass, then machine. The first step makes the slowest machine as fast as it can be: *seconds* is the
    weighted mean of its cycles by pass, *first_cycle*, *bound* the proven least and *gap* the share between them. The
    second step saves feeders, as far as the line's cycle allows: *feeders_needed* and *second_cycle*. The third
    balances the machines again with as many feeders. *by_count* is True where seconds could not be worked out: then
    *seconds* and *bound* are placements of the busiest machine. *weights* are the shares
    of the passes in the mean.
    """

    name: Said | str
    passes: tuple[int, ...]
    strictness: Strictness
    feeders: tuple[Feeder, ...]
    occupied: tuple[Occupied, ...]
    times: tuple[tuple[MachineTime, ...], ...]
    figures: tuple[PassFigures, ...]
    status: Status
    seconds: float
    bound: float
    gap: float
    by_count: bool
    weights: tuple[float, ...]
    first_cycle: tuple[float, ...] = ()
    second_cycle: tuple[float, ...] = ()
    feeders_needed: Feeders | None = None
    begun_at: float = math.inf
    """What *seconds* are in the simple plan that is made without a solver; infinite where it finds no places."""

    @property
    def price_of_feeders(self) -> float:
        """What the second step costs: seconds that the slowest machine takes longer for it, the mean of the passes."""
        return max(0.0, self._mean(self.second_cycle) - self._mean(self.first_cycle)) if self.second_cycle else 0.0

    @property
    def won_back(self) -> float:
        """What the third step brings: seconds that the slowest machine takes less, the mean of the passes."""
        now = [max(machine.planned for machine in times) for times in self.times]
        return max(0.0, self._mean(self.second_cycle) - self._mean(now)) if self.second_cycle else 0.0

    def _mean(self, cycles: Sequence[float]) -> float:
        return sum(w * s for w, s in zip(self.weights, cycles, strict=True))


class Nowhere(Struct, frozen=True):
    """A part that no machine takes, with the reasons for each head that has some: ``machine/head`` and its answers.

    *refused* tells whether every head does: else it is the feeder or tray that no machine has.
    """

    part: str
    placements: int
    reasons: tuple[tuple[str, tuple[Take, ...]], ...]
    refused: bool


class Shortage(Struct, frozen=True):
    """Why the line cannot place everything: the smallest reason.

    *slots_short* and *trays_short* are (machine or its bank, how many more would do). *take_off* are (part, placements
    per board) that leave a job which fits; *proved* tells whether fewer placements are proved impossible. *impossible*
    is False where the search ended before it was proved that not everything fits. *displaced* are those taken off that
    come in no tray and would have a place if no tray unit stood in the slots.
    """

    nowhere: tuple[Nowhere, ...]
    slots_short: tuple[tuple[str, float], ...]
    trays_short: tuple[tuple[str, float], ...]
    take_off: tuple[tuple[str, int], ...]
    proved: bool
    order: bool
    impossible: bool
    displaced: tuple[str, ...] = ()


class CommonShortage(Struct, frozen=True):
    """What one set-up for all passes lacks: (machine or its bank, how many places more there would do).

    *order* is True where neither slots nor tray places are short, but heights along the line or kinds of nozzles stand
    against it; where nothing is named, the search ended before that was found.
    """

    slots_short: tuple[tuple[str, float], ...]
    trays_short: tuple[tuple[str, float], ...]
    order: bool


class Changeover(Struct, frozen=True):
    """From one set-up to the next: feeders out and in, as (machine or its bank, part)."""

    before: Said | str
    after: Said | str
    out: tuple[tuple[str, str], ...]
    into: tuple[tuple[str, str], ...]


class BenchTime(Struct, frozen=True):
    """What a bench does for one panel of a board, or the board itself.

    *each* is the time for one part by one of so many *people*, None where it is not stated; *line* are the seconds of
    line time for the panel, all passes together, None without a plan in seconds.
    """

    bench: str
    board: str
    placements: Interval
    each: float | None
    people: int
    line: Interval | None

    @property
    def seconds(self) -> Interval | None:
        """Seconds from one panel to the next: placements times seconds, shared by the people."""
        return None if self.each is None else self.placements.scaled(self.each / self.people)

    @property
    def is_slower(self) -> bool | None:
        """Whether the bench takes longer than the line: True or False where proved, else None."""
        if self.seconds is None or self.line is None:
            return None
        if self.seconds.high <= self.line.low:
            return False
        return True if self.seconds.low > self.line.high else None


class Plan(Struct, frozen=True):
    """A plan for a job on a line.

    *failed* and *warned* are what stands against a pass, *unanswered* why the checks of its boards are no answers.
    *shortage* is there if not everything can be placed; the set-ups then place the rest, without what is taken off.
    """

    job: Job
    line: str
    machines: tuple[str, ...]
    failed: tuple[Said, ...]
    warned: tuple[Said, ...]
    set_ups: tuple[SetUp, ...]
    shortage: Shortage | None
    changeovers: tuple[Changeover, ...]
    floor: Floor
    uptime: Interval | None
    demand: Demand | None
    rated_per_hour: float | None
    not_computed: tuple[Said, ...]
    notes: tuple[Said, ...]
    placings: tuple[Placing, ...]
    """How accurately each part is placed, on every head that may take it; those in use first, tightest first."""
    unanswered: tuple[Said, ...] = ()
    panels: Mapping[str, Said] = field(default_factory=dict)
    """By board: the panel or rails that would be ordered of it, in words; the conveyor carries that."""
    benches: tuple[BenchTime, ...] = ()
    """What people place at the line's benches, by board."""
    costs: tuple[BoardCost, ...] = ()
    """What each board costs, where the shop states rates."""
    hours_per_year: float | None = None
    """Scheduled hours, where they were given."""
    stated_uptime: float | None = None
    """The uptime that was asked for or that the line's file states; None where it is that of the machines."""
    devices: Line | None = None
    """The line with its machine profiles, of which the figures are; None where nobody gave it."""
    order: SetUpOrder | None = None
    """How the set-ups follow each other, by their numbers as they were given: the plan lists them so."""
    common_shortage: CommonShortage | None = None
    """What one set-up for all passes lacks, where that was tried and there is none."""
    break_even: BreakEven | None = None
    """One common set-up against one each, where that was asked for and both hold everything."""

    @property
    def verdict(self) -> Verdict:
        """``unanswered`` (a board's check is no answer), ``fail``, ``warn`` (something is undecided) or ``pass``."""
        if self.unanswered:
            return "unanswered"
        return "fail" if self.failed else "warn" if self.warned else "pass"

    @property
    def why(self) -> tuple[Said, ...]:
        """Why it does not pass, what fails first."""
        return self.unanswered + self.failed + self.warned

    @property
    def feasible(self) -> bool:
        """Whether every part has a place on the line."""
        return self.shortage is None

    def board_figures(self) -> list[BoardFigures]:
        """Return what the line delivers of each board whose passes are all planned in seconds."""
        cycles = {p: f.cycle for s in self.set_ups if not s.by_count for p, f in zip(s.passes, s.figures, strict=True)}
        out = []
        for name in dict.fromkeys(p.board for p in self.job.passes):
            mine = [k for k, p in enumerate(self.job.passes) if p.board == name]
            if all(k in cycles for k in mine):
                pieces = self.job.passes[mine[0]].boards
                out.append(BoardFigures(name, tuple(cycles[k] for k in mine), pieces))
        return out

    @property
    def rated_per_hour_and_m2(self) -> float | None:
        """Rated placements per hour and m² of the machines' own floor."""
        if self.rated_per_hour is None or not self.floor.machine_area_m2:
            return None
        return self.rated_per_hour / self.floor.machine_area_m2

    def expected_per_hour_and_m2(self, figures: PassFigures) -> Interval | None:
        """Return expected placements per hour and m² for one pass, while the line runs; None without an area."""
        if not self.floor.machine_area_m2:
            return None
        rate = figures.placements_per_hour
        high = rate.high / self.floor.machine_area_m2 if math.isfinite(rate.high) else math.inf
        return Interval(rate.low / self.floor.machine_area_m2, high)
