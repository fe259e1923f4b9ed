"""What a plan asks of the people and the shelf: refills an hour, feeders to own, and what stands on the bottleneck."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Final

from msgspec import Struct

from capcheck.machines import tape_widths
from capcheck.planning.plan_data import Feeder, Plan, SetUp
from capcheck.planning.times import MachineTime, Work
from capcheck.values import UNKNOWN_SIZE, Interval, total

_MINUTES: Final = 60.0


class Refills(Struct, frozen=True):
    """Reels, trays and tubes that run out in an hour of a pass while the line runs.

    *known* counts those parts whose containers' content is known; *unknown* are the other part numbers. *people* are
    those who do nothing else, where the shop states the minutes of a refill.
    """

    board: str
    known: Interval
    unknown: tuple[str, ...]
    people: Interval | None

    @property
    def per_hour(self) -> Interval:
        """All refills: without a high end where the content of some container is unknown."""
        return Interval(self.known.low, math.inf) if self.unknown else self.known


def refills_an_hour(plan: Plan) -> list[Refills]:
    """Return the refills of each pass: Σ parts of a type a pass / parts in its container × passes an hour."""
    minutes = {one.board: one.refill_minutes for one in plan.costs}
    found = []
    for set_up in plan.set_ups:
        for place, figures in enumerate(set_up.figures):
            feeders = [f for f in set_up.feeders if f.counts[place]]
            share = sum(1 / n for f in feeders if (n := f.passes_between_refills[place]))
            unknown = tuple(dict.fromkeys(f.part for f in feeders if not f.passes_between_refills[place]))
            rate = UNKNOWN_SIZE if set_up.by_count else figures.boards_per_hour
            known = Interval(share * rate.low, share * rate.high if share else 0.0)
            each = minutes.get(plan.job.passes[set_up.passes[place]].board)
            people = None
            if each is not None:
                high = math.inf if unknown else known.high * each.high / _MINUTES
                people = Interval(known.low * each.low / _MINUTES, high)
            found.append(Refills(figures.board, known, unknown, people))
    return found


class Owned(Struct, frozen=True):
    """How many feeders of one kind a shop needs: *at_once* in the set-up that needs most of them.

    *beside* are those where the feeders of the next set-up are prepared while the line runs: of two that follow each
    other. *kind* is ``tape``, ``stick``, ``bowl``, ``tray`` or empty (unknown); *width* of a tape in mm.
    """

    kind: str
    width: int | None
    at_once: Interval
    beside: Interval


def feeders_to_own(plan: Plan) -> list[Owned]:
    """Return the feeders that a plan's boards need, by kind and width of tape, narrowest first.

    A tape that may have one of several widths counts with each of them at most and with none at least.
    """
    set_ups = plan.set_ups
    alone = [_needed(set_up.feeders) for set_up in set_ups]
    # After the last set-up the first comes again; what stays on the line is there already.
    pairs = [_needed((*b.feeders, *_added(b, set_ups[k - 1]))) for k, b in enumerate(set_ups)]
    nothing = Interval.exactly(0.0)
    found = []
    for key in sorted({key for needed in alone for key in needed}, key=lambda k: (k[0] != "tape", k[0], k[1] or 0)):
        at_once, beside = (_most([needed.get(key, nothing) for needed in every]) for every in (alone, pairs))
        found.append(Owned(*key, at_once, beside))
    return found


def _added(set_up: SetUp, before: SetUp) -> list[Feeder]:
    """Return the feeders of the set-up before that do not stay."""
    stay = {(f.where, f.part) for f in set_up.feeders}
    return [f for f in before.feeders if (f.where, f.part) not in stay]


def _most(each: list[Interval]) -> Interval:
    return Interval(max(e.low for e in each), max(e.high for e in each))


def _needed(feeders: Iterable[Feeder]) -> dict[tuple[str, int | None], Interval]:
    sure: Counter[tuple[str, int | None]] = Counter()
    perhaps: Counter[tuple[str, int | None]] = Counter()
    for feeder in feeders:
        kinds = list(_kinds(feeder))
        (sure if len(kinds) == 1 else perhaps).update(kinds)
    return {key: Interval(sure[key], sure[key] + perhaps[key]) for key in sure | perhaps}


def _kinds(feeder: Feeder) -> Iterator[tuple[str, int | None]]:
    """Yield what a feeder may be."""
    if feeder.supply != "tape":
        yield feeder.supply or "", None
        return
    widths = tape_widths(feeder.tape_width) if math.isfinite(feeder.tape_width.high) else ()
    yield from (("tape", width) for width in widths or (None,))


class OnBottleneck(Struct, frozen=True):
    """A part number on the machine that takes longest: placements, and seconds by the mean of the heads for it."""

    part: str
    placements: int
    seconds: Interval


class Bottleneck(Struct, frozen=True):
    """The slowest machine of a pass, and what stands on it, what takes longest first.

    *sets_cycle* is False where a station that places nothing is slower yet. Without seconds the busiest machine counts.
    """

    board: str
    machine: str
    sets_cycle: bool
    parts: tuple[OnBottleneck, ...]


def on_bottleneck(plan: Plan) -> list[Bottleneck]:
    """Return for each pass the machine that takes longest, by part number."""
    found = []
    for set_up in plan.set_ups:
        for place, (figures, times) in enumerate(zip(set_up.figures, set_up.times, strict=True)):
            slowest = max(times, key=lambda t: t.placements if set_up.by_count else t.planned)
            here = [f for f in set_up.feeders if f.machine == slowest.machine and f.counts[place]]
            rows: dict[str, OnBottleneck] = {}
            for feeder in here:
                row, before = _row(feeder, place, slowest), rows.get(feeder.part)
                if before is not None:
                    row = OnBottleneck(
                        row.part, before.placements + row.placements, total([before.seconds, row.seconds])
                    )
                rows[feeder.part] = row
            listed = sorted(rows.values(), key=lambda r: (-r.seconds.high, -r.placements, r.part))
            sets = set_up.by_count or figures.bottleneck == slowest.machine
            found.append(Bottleneck(figures.board, slowest.machine, sets, tuple(listed)))
    return found


def _row(feeder: Feeder, place: int, time: MachineTime) -> OnBottleneck:
    """Return a feeder's share of its heads' seconds: each of a head's placements takes the same part of its sum."""
    means = []
    for gantry in time.gantries:
        for head, terms in gantry.heads:
            parts = sum(t.count for t in terms if t.work in {Work.PLACE, Work.AT_RATED_SPEED})
            if head in feeder.heads and parts:
                means.append(sum(t.total for t in terms) / parts)
    count = feeder.counts[place]
    seconds = Interval(count * min(means), count * max(means)) if means else UNKNOWN_SIZE
    return OnBottleneck(feeder.part, count, seconds)
