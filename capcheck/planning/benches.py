"""Benches beside the machines: what people place there of each board, how long that takes, and whether the line waits.

Parts with leads through holes, and parts that the machines leave over, go to the first bench of the line that takes
such parts. What is not proved to fit on a machine may come to a bench too: its count is a range.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.machines import Bench, Line
from capcheck.model import Mounting, Said, say
from capcheck.planning.plan_data import BenchTime, Plan
from capcheck.values import UNKNOWN_SIZE, Interval, total


class HandWork(Struct, frozen=True):
    """Parts of one kind that people place on one panel of a board, at least and at most."""

    kind: str
    placements: Interval


def with_benches(found: Plan, reports: Sequence[Report]) -> Plan:
    """Return the plan with the times of its line's benches, and what they leave open or make too slow."""
    line = reports[0].line if reports else None
    if line is None or not line.benches:
        return found
    benches = tuple(_times(found, reports, line))
    failed, warned = _against_demand(found, benches)
    return replace(
        found,
        benches=benches,
        failed=(*found.failed, *failed),
        warned=(*found.warned, *(said for one in benches for said in _slower(one)), *warned),
        not_computed=(*found.not_computed, *_without_seconds(benches)),
    )


def _times(found: Plan, reports: Sequence[Report], line: Line) -> Iterator[BenchTime]:
    cycles = {one.board: one.seconds for one in found.board_figures()}
    benches = line.benches
    for report in reports:
        name, work = report.board.name, by_hand(found, report)
        for bench in benches:
            mine = [w.placements for w in work if _takes_first(benches, w.kind) is bench]
            placements = total(mine)
            if placements.high > 0:
                yield BenchTime(bench.name, name, placements, bench.seconds, bench.people, cycles.get(name))


def _takes_first(benches: Iterable[Bench], kind: str) -> Bench | None:
    return next((bench for bench in benches if kind in bench.takes), None)


def by_hand(found: Plan, report: Report) -> list[HandWork]:
    """Return what people place on a panel of a board: the machines' left-overs and the parts through holes."""
    name, bodies = report.board.name, report.board.bodies
    mine = [p for p, one in enumerate(found.job.passes) if one.board == name]
    counts, placed, open_ = found.job.counts(), set[tuple[str, int]](), 0
    for set_up in found.set_ups:
        for feeder in set_up.feeders:
            for p, count in zip(set_up.passes, feeder.counts, strict=True):
                if count and p in mine:
                    placed.add((feeder.part, p))
                    open_ += count if feeder.undecided else 0
    left = sum(
        int(counts[j, p]) for j, part in enumerate(found.job.parts) for p in mine if (part.name, p) not in placed
    )
    through = sum(
        len(taker.rows)
        for taker in report.takers
        if not taker.on_heads and (taker.index < 0 or bodies[taker.index].mounting != Mounting.NONE)
    )
    return [
        HandWork("surface", Interval(left, left + open_)),
        HandWork("through-hole", Interval.exactly(through * report.carried.circuits)),
    ]


def _slower(one: BenchTime) -> list[Said]:
    """Return that a bench is, or may be, slower than the line that it serves."""
    if one.seconds is None or one.is_slower is False or one.line is None:
        return []
    sure = one.is_slower is True
    return [
        say(
            "planning.bench slower",
            board=one.board,
            bench=one.bench,
            sure=sure,
            seconds=one.seconds.low if sure else one.seconds.high,
            line=one.line.high if sure else one.line.low,
        )
    ]


def _without_seconds(benches: Sequence[BenchTime]) -> list[Said]:
    names = dict.fromkeys(one.bench for one in benches if one.each is None)
    return [say("planning.bench seconds not stated", benches=list(names))] if names else []


def _against_demand(found: Plan, benches: Sequence[BenchTime]) -> tuple[list[Said], list[Said]]:
    """Return the benches whose hours are too few for a year's boards, and those of which that is open."""
    hours = found.hours_per_year
    if hours is None:
        return [], []
    failed, warned = [], []
    for name in dict.fromkeys(one.bench for one in benches):
        needed = total(_yearly(found, one) for one in benches if one.bench == name).scaled(1 / 3600)
        if needed.low > hours:
            failed.append(say("planning.bench too slow", bench=name, needed=needed.low, hours=hours))
        elif needed.high > hours:
            warned.append(say("planning.bench demand open", bench=name))
    return failed, warned


def _yearly(found: Plan, one: BenchTime) -> Interval:
    """Return the seconds of a bench for a year's boards: any number where no quantity or no time is stated."""
    panels = found.job.yearly(one.board)
    return UNKNOWN_SIZE if panels is None or one.seconds is None else one.seconds.scaled(panels)
