"""A plan as its page shows it: figures as ranges, load as bars, kitting in the machines' order, hand, changeovers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from msgspec import Struct

from capcheck.lexicon import sentence
from capcheck.planning import Feeder, PartDemand, PassFigures, Plan, SetUp, StationTime
from capcheck.report.papers.bars import Bar, Scale
from capcheck.report.plan import (
    board_rows,
    count,
    cycle,
    ends,
    nowhere_lines,
    numbered,
    reasons,
    references,
    refill_sum,
    slot_text,
    slots,
    span,
    table_of,
    tray_places,
    why_by_kind,
)
from capcheck.values import Interval, shortened

_ALL_REFS: Final = 10_000
_IN_HEAD: Final = 3
"""Boards whose output stands in the head of a page."""
_TAKT_DRAWN: Final = 2.0
"""A takt of more than so many times the slowest station would leave the bars no room; it is told in words alone."""


_FEW_OF_A_KIND: Final = 2
"""Warnings of a kind beside the first that stand open; more are folded below it."""


class Figure(Struct, frozen=True):
    """A number of the head: what it is, its range, and a remark."""

    label: str
    value: str
    note: str = ""


class PassView(Struct, frozen=True):
    """One pass of a board: its name, the cycle in words, a bar for each station, and where the takt stands on them."""

    name: str
    cycle: str
    unit: str
    bars: tuple[Bar, ...]
    takt_at: float | None = None
    takt: str = ""


class FeederRow(Struct, frozen=True):
    """One feeder or tray: what stands where, what it gives to one panel or board, and what is not proved of it."""

    slot: str
    part: str
    kind: str
    nozzle: str
    supply: str
    needed: str
    refs: str
    not_proved: str


class BoardsView(Struct, frozen=True):
    """The boards of a plan: the columns that say something, and of each board its cells and a bar of its output."""

    columns: tuple[str, ...]
    rows: tuple[tuple[tuple[str, ...], Bar], ...]


class MachineView(Struct, frozen=True):
    """One machine of a set-up: its slots as a bar, and its feeders in the order of the slots, trays last."""

    set_up: str
    machine: str
    slots: Bar
    free: str
    trays: str
    feeders: tuple[FeederRow, ...]


class ChangeView(Struct, frozen=True):
    """From one set-up to the next: machine, slot and part of what is taken off, and of what is put on."""

    title: str
    off: tuple[tuple[str, str, str], ...]
    on: tuple[tuple[str, str, str], ...]


class Refill(Struct, frozen=True):
    """When a reel, tray or stick runs out: after how many boards or panels of a pass, and in how many minutes."""

    machine: str
    slot: str
    part: str
    board: str
    sum: str
    after: str
    minutes: str


def figures_of(plan: Plan) -> list[Figure]:
    """Return the numbers of the head: output, takt, uptime, each as a range or as not known."""
    found = []
    boards = plan.board_figures()
    # Of many boards the table has each one's.
    for board in boards if len(boards) <= _IN_HEAD else ():
        several = len(boards) > 1
        of = f", {board.board}" if several else ""
        panels = f", panels of {board.pieces}" if board.pieces > 1 else ""
        sides = ", both sides on this line" if board.sides > 1 else ""
        found.append(Figure(f"boards per hour{of}", ends(board.per_hour, 1), f"while the line runs{sides}{panels}"))
        if plan.uptime is not None:
            within = ends(board.per_scheduled_hour(plan.uptime), 1)
            found.append(Figure(f"boards per scheduled hour{of}", within, "times the uptime"))
    if not boards:
        found.append(Figure("boards per hour", "not known", "times are not stated"))
    demand = plan.demand
    if demand is None:
        yearly = [p.per_year for p in plan.job.passes]
        lacks = "hours" if None not in yearly else "quantity"
        found.append(Figure("takt", "not known", f"{lacks} a year not given"))
    else:
        kept = [f.keeps_takt for s in plan.set_ups for f in s.figures]
        word = "not kept" if False in kept else "undecided whether kept" if None in kept else "kept"
        found.append(Figure("takt", f"{demand.takt:,.2f} s", word))
        if demand.set_ups:
            found.append(Figure("set-ups", span(demand.set_up_hours, "h"), "a year in which the line stands"))
    uptime = "not stated" if plan.uptime is None else f"{ends(plan.uptime.scaled(100), 1)} %"
    found.append(Figure("uptime", uptime, "" if plan.uptime is None else "of the scheduled time"))
    return found


def why_view(plan: Plan) -> list[tuple[str, Sequence[str]]]:
    """Return what stands against a pass, a warning with others of its kind below it where they are many."""
    rows: list[tuple[str, Sequence[str]]] = []
    for first, others in why_by_kind(plan):
        folded = len(others) > _FEW_OF_A_KIND
        rows += [(first, others)] if folded else [(text, ()) for text in (first, *others)]
    nowhere = plan.shortage.nowhere if plan.shortage else ()
    return [*rows, *((line, ()) for line in nowhere_lines(nowhere))]


def boards_view(plan: Plan) -> BoardsView:
    """Return a row for each board; boards an hour of all of them are bars on one scale."""
    rows = board_rows(plan)
    columns, *cells = table_of([row.cells for row in rows])
    known = [row.per_hour for row in rows if row.per_hour is not None]
    scale = Scale.of([end for rate in known for end in (rate.low, rate.high)])
    bars = []
    for row in rows:
        rate, planned = row.per_hour, row.planned_per_hour
        if rate is None or planned is None:
            bars.append(Bar("", "not known", 0.0, 0.0, 0.0))
        else:
            bars.append(scale.bar(row.board, ends(rate, 1), planned, rate))
    return BoardsView(columns, tuple(zip(cells, bars, strict=True)))


def pass_views(plan: Plan) -> list[PassView]:
    """Return a view of each pass: bars by the times planned, or by placements where seconds are not known.

    The passes of a board share their scale, so that its sides can be compared.
    """
    passes = [(set_up, place) for set_up in plan.set_ups for place in range(len(set_up.figures))]
    scales = _scales(plan, passes)
    return [
        (_by_count if set_up.by_count else _by_time)(plan, set_up, place, scales[_scale_key(plan, set_up, place)])
        for set_up, place in passes
    ]


def _scale_key(plan: Plan, set_up: SetUp, place: int) -> tuple[str, bool]:
    """Return what bars of one scale have in common: the board, and whether they are seconds or placements."""
    return plan.job.passes[set_up.passes[place]].board, set_up.by_count


def _scales(plan: Plan, passes: Sequence[tuple[SetUp, int]]) -> dict[tuple[str, bool], Scale]:
    ends: dict[tuple[str, bool], list[float]] = {}
    for set_up, place in passes:
        mine = ends.setdefault(_scale_key(plan, set_up, place), [])
        if set_up.by_count:
            mine += [t.placements for t in set_up.times[place]]
        else:
            mine += [end for s in set_up.figures[place].stations for end in (s.planned, s.seconds.high)]
    slowest = {key: Scale.of(mine).most for key, mine in ends.items()}
    for set_up, place in passes:
        key, takt = _scale_key(plan, set_up, place), set_up.figures[place].takt
        if takt is not None and not set_up.by_count and takt <= _TAKT_DRAWN * slowest[key]:
            ends[key].append(takt)
    return {key: Scale.of(mine) for key, mine in ends.items()}


def _by_count(plan: Plan, set_up: SetUp, place: int, scale: Scale) -> PassView:
    times = set_up.times[place]
    most = max((t.placements for t in times), default=0)
    bars = [
        scale.bar(
            t.machine,
            numbered(t.placements, "placement"),
            t.placements,
            Interval.exactly(t.placements),
            marked=t.placements == most > 0,
            note="most placements" if t.placements == most > 0 else "",
        )
        for t in times
    ]
    name = plan.job.passes[set_up.passes[place]].name
    return PassView(name, "cycle not known, as times are not stated: placements by machine", "placements", tuple(bars))


def _by_time(plan: Plan, set_up: SetUp, place: int, scale: Scale) -> PassView:
    figures = set_up.figures[place]
    placed = {t.machine: t.placements for t in set_up.times[place]}
    takt = figures.takt
    bars = [
        scale.bar(
            s.name,
            _seconds(s.planned, s.seconds) + (f", {numbered(placed[s.name], 'placement')}" if s.places else ""),
            s.planned,
            s.seconds,
            marked=s.name == figures.bottleneck,
            note=_role(s, figures),
        )
        for s in figures.stations
    ]
    told = "" if takt is None else f"takt {takt:,.2f} s"
    title = f"{numbered(figures.placements, 'placement')}, {cycle(figures)}"
    at = scale.at(takt) if takt is not None and takt <= scale.most else None
    return PassView(plan.job.passes[set_up.passes[place]].name, title, "seconds", tuple(bars), at, told)


def _role(station: StationTime, figures: PassFigures) -> str:
    """Return whether a station sets the cycle, as planned or perhaps."""
    if station.name == figures.bottleneck:
        return "longest time stated" if figures.untimed else "sets the cycle"
    return "may set the cycle" if station.seconds.high > figures.cycle.low else ""


def _seconds(planned: float, within: Interval) -> str:
    """Return what is known of a time, and what is planned where that is not its slow end."""
    known = span(within, "s")
    return known if math.isclose(within.high, planned) else f"{known}, planned {planned:,.2f} s"


def machine_views(plan: Plan) -> list[MachineView]:
    """Return the machines of each set-up in the line's order, with what is mounted on them."""
    views = []
    several = len(plan.set_ups) > 1
    parts = {part.name: part for part in plan.job.parts}
    for set_up in plan.set_ups:
        for o in set_up.occupied:
            scale = Scale.of([o.slots or 0, o.slots_needed.low, o.slots_needed.high])
            free = "not known" if o.slots_free is None else count(o.slots_free)
            mine = sorted((f for f in set_up.feeders if f.where == o.where), key=_in_order)
            views.append(
                MachineView(
                    sentence(set_up.name) if several else "",
                    o.where,
                    scale.bar(o.where, slots(o), _finite(o.slots_needed), o.slots_needed),
                    free,
                    tray_places(o) if o.trays_needed.high else "",
                    tuple(_feeder(plan, set_up, f, parts[f.part]) for f in mine),
                )
            )
    return views


def _finite(needed: Interval) -> float:
    return needed.high if math.isfinite(needed.high) else max(needed.low, 0.0)


def _in_order(feeder: Feeder) -> tuple[bool, float, str]:
    return feeder.supply == "tray", math.inf if feeder.slot is None else feeder.slot, feeder.part


def _in_runs(refs: Sequence[str]) -> str:
    return shortened(tuple(refs), _ALL_REFS)


def _feeder(plan: Plan, set_up: SetUp, f: Feeder, part: PartDemand) -> FeederRow:
    needed = str(sum(f.counts))
    if len([c for c in f.counts if c]) > 1:
        needed += f" ({' + '.join(map(str, f.counts))})"
    refs = references(plan, set_up, f, _in_runs)
    place, kind = slot_text(f) or "slot not known", ", ".join(filter(None, (part.value, part.package)))
    not_proved = "; ".join(reasons(f.undecided))
    return FeederRow(place, f.part, kind, part.nozzle or "", supply_text(f), needed, refs, not_proved)


def supply_text(f: Feeder) -> str:
    """Return what a part comes in: the tape's width where it is known within bounds."""
    if f.supply == "tape" and f.tape_width.high < math.inf:
        return f"tape {count(f.tape_width)} mm"
    return f"{f.supply}, width not known" if f.supply == "tape" else f.supply or "not known"


def change_views(plan: Plan) -> list[ChangeView]:
    """Return what is taken off and put on between the set-ups, with the slots, machine by machine."""
    at = {sentence(s.name): {(f.where, f.part): slot_text(f) for f in s.feeders} for s in plan.set_ups}
    order = {o.where: k for s in plan.set_ups for k, o in enumerate(s.occupied)}

    def rows(pairs: Sequence[tuple[str, str]], slots_at: Mapping[tuple[str, str], str]) -> Iterator[tuple[str, ...]]:
        yield from ((m, slots_at.get((m, p), ""), p) for m, p in sorted(pairs, key=lambda pair: order[pair[0]]))

    views = []
    for change in plan.changeovers:
        before, after = sentence(change.before), sentence(change.after)
        off = [(m, s, p) for m, s, p in rows(change.out, at.get(before, {}))]
        on = [(m, s, p) for m, s, p in rows(change.into, at.get(after, {}))]
        views.append(ChangeView(f"{before} to {after}", tuple(off), tuple(on)))
    return views


def refills(plan: Plan) -> list[Refill]:
    """Return what runs out, what runs out first at the head; only parts whose containers' content is known."""
    parts = {p.name: p for p in plan.job.parts}
    found = []
    for set_up in plan.set_ups:
        for f in set_up.feeders:
            for place, passes in enumerate(f.passes_between_refills):
                if passes is None:
                    continue
                figures, board = set_up.figures[place], plan.job.passes[set_up.passes[place]]
                unit = "boards" if board.boards == 1 else f"panels of {board.boards}"
                minutes = "not known" if set_up.by_count else ends(figures.cycle.scaled(passes / 60), 1)
                told = refill_sum(parts[f.part], f.counts[place])
                row = Refill(f.where, slot_text(f), f.part, board.name, told, f"{passes:,.1f} {unit}", minutes)
                found.append((passes, row))
    return [row for _, row in sorted(found, key=lambda item: item[0])]
