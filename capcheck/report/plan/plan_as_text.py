"""A plan as lines: what matters most first, then what would change it, figures, and every second as a sum."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from capcheck.lexicon import cautions, sentence
from capcheck.planning import Change, Feeder, Occupied, PassFigures, Plan, SetUp, Shortage
from capcheck.report.plan.costs_and_work import (
    bottleneck_lines,
    break_even_lines,
    cost_lines,
    owned_lines,
    refill_lines,
)
from capcheck.report.plan.overview import overview
from capcheck.report.plan.spans import (
    bench_lines,
    count,
    ends,
    numbered,
    order_lines,
    reasons,
    refill_sum,
    some,
    span,
    two_lane_lines,
    what,
    why_lines,
)
from capcheck.report.plan.summary import cycle, slots, summary, tray_places, verdict_word
from capcheck.report.plan.sums_of_seconds import accuracy_lines, machine_sum
from capcheck.report.styled_lines import WIDTH_WHEN_PIPED, wrapped


def _figures(plan: Plan, set_up: SetUp, place: int, figures: PassFigures) -> Iterator[str]:
    yield f"  {figures.board}: {numbered(figures.placements, 'placement')}"
    if set_up.by_count:
        yield "    cycle: not computed"
        return
    machines = [s for s in figures.stations if s.places]
    slowest = max(machines, key=lambda s: s.planned)
    others = [s for s in figures.stations if not s.places]
    stations = ""
    if figures.bottleneck != slowest.name:
        stations = f"; the slowest machine, {slowest.name}, takes {span(slowest.seconds, 's')}"
    yield f"    {cycle(figures)}{stations}"
    pieces = plan.job.passes[set_up.passes[place]].boards
    carried = "boards/h" if pieces == 1 else f"panels/h, of {pieces} boards each,"
    yield f"    3600 s / cycle = {span(figures.boards_per_hour, carried, 1)} while the line runs"
    rate = f"    {figures.placements} × that = {span(figures.placements_per_hour, 'placements/h', 0)}"
    per_area = plan.expected_per_hour_and_m2(figures)
    if per_area is not None:
        area = plan.floor.machine_area_m2 or 0.0
        rate += f"; / {area:.3f} m² of machines = {span(per_area, 'placements/h/m²', 0)}"
    yield rate
    seconds = " + ".join(f"{s.planned:.2f}" for s in machines)
    yield (
        f"    balance of the machines ({seconds}) / ({len(machines)} × {slowest.planned:.2f}) "
        f"= {100 * figures.efficiency:.1f} %"
    )
    placed = {t.machine: t.placements for t in set_up.times[place]}
    yield from (f"    {s.name}: {span(s.seconds, 's')}, {numbered(placed[s.name], 'placement')}" for s in machines)
    yield from (f"    {s.name}: {span(s.seconds, 's')}" for s in others)
    if figures.takt is not None:
        word = {True: "kept", False: "not kept", None: "undecided"}[figures.keeps_takt]
        yield f"    takt {figures.takt:.2f} s: {word}"
    if figures.untimed:
        yield f"    time not fully stated: {', '.join(figures.untimed)}"


def _search(set_up: SetUp) -> str:
    """Return what was goal, as the sum that it is, with the proven bound."""
    unit = "" if set_up.by_count else " s"
    cycles = set_up.first_cycle
    state = "within the gap asked for" if set_up.status == "optimal" else "the gap asked for was not reached"
    goal = "most placements of one machine" if set_up.by_count else "slowest machine"
    if len(cycles) > 1 and not set_up.by_count:
        shares = " + ".join(f"{w:.4g} × {c:.3f}" for w, c in zip(set_up.weights, cycles, strict=True))
        goal += f", mean of the passes: {shares} ="
    digits = 0 if set_up.by_count else 3
    begun = ""
    if math.isfinite(set_up.begun_at):
        begun = f"; each part number whole where it ends soonest: {set_up.begun_at:.{digits}f}{unit}"
    return (
        f"  {goal} {set_up.seconds:.{digits}f}{unit}; proved that no plan is below {set_up.bound:.{digits}f}{unit}: "
        f"gap {100 * set_up.gap:.2f} % ({state}){begun}"
    )


def _feeders_needed(set_up: SetUp) -> Iterator[str]:
    """Yield how many feeders the cycle takes, where saving some was tried."""
    needed = set_up.feeders_needed
    if needed is None:
        return
    untimed = any(figures.untimed for figures in set_up.figures)
    of_times = ", as far as times are stated" if untimed else ""
    fastest, keep = f"the fastest plan, which makes the line no faster{of_times}", f"keep this cycle{of_times}"
    if set_up.by_count:
        fastest = "the most even plan, which leaves the busiest machine as many placements"
        keep = f"leave the busiest machine {set_up.seconds:.0f} placements at most"
    saved = f" ({needed.before} in {fastest})" if needed.before > needed.planned else ""
    least = "fewer cannot" if needed.least == needed.planned else f"it takes at least {needed.least} to"
    price = set_up.price_of_feeders
    if saved and price > _NO_PRICE:
        saved += f", at the price of {price:.3f} s of the machines' own time"
    yield f"  feeders and trays: {needed.planned}{saved}; {least} {keep}"
    if set_up.won_back > _NO_PRICE and not set_up.by_count:
        yield f"  balanced once more with these feeders: {set_up.won_back:.3f} s of that won back"


def _set_up(plan: Plan, set_up: SetUp) -> Iterator[str]:
    yield f"Set-up: {sentence(set_up.name)} ({set_up.strictness})"
    yield _search(set_up)
    yield from _feeders_needed(set_up)
    for o in set_up.occupied:
        tray_unit = (
            f", {o.tray_unit_slots} of them for the tray unit" if o.tray_unit_slots and o.trays_needed.high else ""
        )
        yield f"  {o.where}: slots needed {slots(o)}{tray_unit}{_free(o)}"
        if o.trays_needed.high:
            yield f"  {o.where}: tray places needed {tray_places(o)}"
    for place, figures in enumerate(set_up.figures):
        yield from _figures(plan, set_up, place, figures)
    yield from _not_proved(set_up.feeders)
    yield from _refills(plan, set_up)


_NO_PRICE: Final = 0.0005
"""Seconds that would be printed as none."""


def _free(o: Occupied) -> str:
    """Return what is left, or which parts keep that open."""
    if o.without_bound:
        return f"; nothing tells how many slots are taken by {some(o.without_bound)}"
    if o.slots_free is None:
        return ""
    wider = f", {o.slots_if_wider:g} needed were each usual tape one width wider"
    return f", {count(o.slots_free)} free{wider if o.slots_if_wider > o.slots_needed.high else ''}"


def _not_proved(feeders: tuple[Feeder, ...]) -> Iterator[str]:
    """Yield what is not proved, the parts that share a reason in one line."""
    by_reason: dict[tuple[str, str], list[str]] = {}
    for f in feeders:
        if f.undecided:
            parts = by_reason.setdefault((f.machine, "; ".join(reasons(f.undecided))), [])
            parts += [] if f.part in parts else [f.part]
    for (machine, reason), parts in sorted(by_reason.items(), key=lambda item: (item[0][0], -len(item[1]))):
        yield f"  not proved on {machine}: {reason}: {some(parts)}"


def _refills(plan: Plan, set_up: SetUp) -> Iterator[str]:
    """Yield what runs out first."""
    parts = {p.name: p for p in plan.job.parts}
    found = [
        (passes, f, place)
        for f in set_up.feeders
        for place, passes in enumerate(f.passes_between_refills)
        if passes is not None
    ]
    for passes, f, place in sorted(found, key=lambda item: item[0])[:3]:
        sum_text = f"{refill_sum(parts[f.part], f.counts[place])} = {passes:.1f}"
        figures = set_up.figures[place]
        pieces = plan.job.passes[set_up.passes[place]].boards
        carried = "boards" if pieces == 1 else f"panels of {pieces}"
        minutes = "" if set_up.by_count else f", {passes * figures.planned / 60:.1f} min"
        yield f"  runs out first: {f.part} on {f.machine} after {sum_text} {carried} ({figures.board}){minutes}"


def _shortage(shortage: Shortage) -> Iterator[str]:
    yield "Not everything can be placed:" if shortage.impossible else "No place was found in time for everything:"
    for n in shortage.nowhere:
        yield f"  no machine can place {n.part} ({numbered(n.placements, 'placement')})"
        by_text: dict[str, list[str]] = {}
        for head, found in n.reasons:
            by_text.setdefault("; ".join(reasons(found)), []).append(head)
        yield from (f"    {', '.join(heads)}: {text}" for text, heads in by_text.items())
    for machine, number in shortage.slots_short:
        yield f"  {number:g} feeder slot(s) short; that many more on {machine} would do"
    for machine, number in shortage.trays_short:
        yield f"  {number:g} tray place(s) short; that many more on {machine} would do"
    if shortage.order:
        yield "  the order of heights along the line or the kinds of nozzles stand against it"
    parts = [f"{part} ({number})" for part, number in shortage.take_off]
    proved = "proved" if shortage.proved else "fewer not disproved in the time limit"
    total = sum(number for _, number in shortage.take_off)
    yield (
        f"  fewest to take off: {numbered(total, 'placement')} of {numbered(len(parts), 'part number')} ({proved}): "
        f"{some(parts)}"
    )


def _line_figures(plan: Plan, *, each: bool = True) -> Iterator[str]:
    """Yield the figures of the line; *each* board's set-ups too, else their hours together."""
    floor = plan.floor
    if floor.length_mm is not None:
        free = "" if floor.free_length_mm is None else f" of {floor.free_length_mm:,.0f} mm free"
        yield f"Length: {floor.length_mm:,.0f} mm{free}"
    elif floor.missing:
        yield f"Length: unknown, not stated by {some(floor.missing)}"
    if plan.rated_per_hour is not None:
        area = plan.rated_per_hour_and_m2
        per_area = "" if area is None else f"; / {floor.machine_area_m2:.3f} m² of machines = {area:,.0f} /h/m²"
        yield f"Rated speed (for comparison only): {plan.rated_per_hour:,.0f} placements/h{per_area}"
    if plan.uptime is not None:
        ranges = "from the product of the machines' shares, if no two stop at once, to the least of them; "
        spread = "" if plan.uptime.is_exact else ranges
        yield f"Uptime: {span(plan.uptime, 'of scheduled time')} ({spread}times above are without it)"
    demand = plan.demand
    if demand is not None:
        share = "1 (uptime not stated)" if demand.uptime is None else f"uptime {demand.uptime.low:.3f}"
        yield (
            f"Takt: {demand.hours_per_year:g} h × 3600 s × {share} / {demand.passes_per_year:g} passes a year "
            f"= {demand.takt:.2f} s"
        )
        if demand.set_ups and not each:
            yield f"Set-ups of all boards a year: {span(demand.set_up_hours, 'h')} in which the line stands"
        for one in demand.set_ups if each else ():
            sum_ = f"{ends(one.batches, 1)} batches × {ends(one.seconds, 0)} s / 3600"
            yield f"Set-ups of {one.board} a year: {sum_} = {span(one.hours, 'h')} in which the line stands"
        needed, there = (span(hours, "h") for hours in (demand.needed_hours, demand.there_hours))
        yield f"Running hours a year: {needed} needed, {there} available"


def change_lines(plan: Plan, changes: tuple[Change, ...]) -> Iterator[str]:
    """Yield what each change brings; where nothing helps, what sets the cycle."""
    yield from (_change(change, sentence(plan.job.per)) for change in changes)
    if not changes:
        limits = dict.fromkeys(f.bottleneck for s in plan.set_ups for f in s.figures)
        yield f"  nothing that was tried helps; the cycle is set by {some(list(limits))}"


def _change(change: Change, per: str) -> str:
    hand = ""
    if change.hand_seconds is not None:
        hand = f", {change.hand_seconds:.1f} s by hand {per}"
        if change.seconds and change.hand_mean and change.hand_mean > change.seconds:
            hand += f" ({math.ceil(change.hand_mean / change.seconds)} people to keep that cycle)"
    cycle = "cycle not computed" if change.seconds is None else f"mean cycle {change.seconds:.2f} s"
    if change.solves:
        return f"  {what(change)}: everything has a place, {cycle}{hand}"
    if change.fewer_left > 0:
        return f"  {what(change)}: places {numbered(change.fewer_left, 'part number')} more{hand}"
    return f"  {what(change)}: saves {change.saves or 0.0:.2f} s, {cycle}{hand}"


def sum_lines(plan: Plan) -> Iterator[str]:
    """Yield every second as a sum, pass by pass and machine by machine."""
    timed = [s for s in plan.set_ups if not s.by_count]
    if timed:
        yield "Cycle time, step by step:"
    for set_up in timed:
        for figures, times in zip(set_up.figures, set_up.times, strict=True):
            yield f"  {figures.board}"
            for time in times:
                yield from machine_sum(time)


def plan_text(
    plan: Plan,
    changes: tuple[Change, ...] | None = None,
    *,
    by_hand: Sequence[str] = (),
    sums: bool = True,
    width: int = WIDTH_WHEN_PIPED,
    full: bool = True,
) -> str:
    """Return a plan as text, what matters most first; the last line is the verdict.

    *changes* are what would change it, None if nobody asked. *by_hand* are lines on the parts that no placement head
    is asked about; without *sums* the seconds are not taken apart. Lines are wrapped at *width*. Of several boards a
    plan that is not *full* is two screens: a row a board, a line a set-up.
    """
    several = len({p.board for p in plan.job.passes}) > 1
    made = _lines(plan, changes, by_hand, sums=sums) if full or not several else _short(plan, changes, by_hand, width)
    return "".join(f"{text}\n" for text in _tidy([*made, "", cautions(), f"Verdict: {plan.verdict}"], width))


def _short(plan: Plan, changes: tuple[Change, ...] | None, by_hand: Sequence[str], width: int) -> Iterator[str]:
    """Yield a plan of several boards without what is of one machine or part number alone."""
    yield from overview(plan, width)
    yield from order_lines(plan)
    yield from break_even_lines(plan)
    yield ""
    yield from _changes(plan, changes)
    yield from _line_figures(plan, each=False)
    yield from owned_lines(plan)
    if by_hand:
        yield f"Through-hole, by hand or odd-form: {numbered(len(by_hand), 'part number')} of a board"
    yield ""
    yield "By set-up, machine and part number: --full; slots and references: --set-up-list FILE; a page: --format html"


def _changes(plan: Plan, changes: tuple[Change, ...] | None) -> list[str]:
    if changes is None:
        return []
    return ["", "What would change it, one change at a time, what helps most first:", *change_lines(plan, changes), ""]


def _lines(plan: Plan, changes: tuple[Change, ...] | None, by_hand: Sequence[str], *, sums: bool) -> list[str]:
    lines = [*summary(plan)]
    if plan.shortage is not None:
        lines += _shortage(plan.shortage)
    lines += _changes(plan, changes)
    if by_hand:
        lines += ["", "Through-hole, by hand or odd-form", *(f"  {line}" for line in by_hand)]
    for set_up in plan.set_ups:
        lines += ["", *_set_up(plan, set_up)]
    for c in plan.changeovers:
        sides = f"{sentence(c.before)} to {sentence(c.after)}"
        lines.append(f"Changeover {sides}: {len(c.out)} feeders out, {len(c.into)} in")
    lines += [
        *order_lines(plan),
        *break_even_lines(plan),
        "",
        *bench_lines(plan),
        *two_lane_lines(plan),
        *_line_figures(plan),
    ]
    lines += ["", *(line for cost in plan.costs for line in cost_lines(cost))]
    lines += ["", *refill_lines(plan), *owned_lines(plan), *bottleneck_lines(plan), ""]
    lines += accuracy_lines(plan.placings)
    lines += [f"Not computed: {sentence(said)}" for said in plan.not_computed]
    lines += [f"Note: {sentence(said)}" for said in plan.notes]
    return [*lines, "", *(sum_lines(plan) if sums else ["Every second as a sum: --sums"])]


def brief_plan(plan: Plan, width: int) -> str:
    """Return how a plan ended: its verdict, what is not placed, and why it does not pass."""
    lines = [
        f"{verdict_word(plan)}  Plan of {plan.job.name} on {plan.line}",
        *(f"  {text}" for text in why_lines(plan)),
        cautions(),
    ]
    return "".join(f"{text}\n" for text in _tidy(lines, width))


def _tidy(lines: Sequence[str], width: int) -> Iterator[str]:
    """Yield the lines wrapped, each further line indented below its first; never two empty ones in a row."""
    empty = True
    for line in lines:
        text = line.lstrip()
        indent = line[: len(line) - len(text)]
        if text:
            yield from wrapped(text, width, indent, f"{indent}    ")
        elif not empty:
            yield ""
        empty = not text
