"""A plan and a comparison as plain lines: the verdict first, then every figure with its unit and its sum."""

from __future__ import annotations

import math
from collections.abc import Iterator

from capcheck.interval import Interval
from capcheck.planning.compare import Comparison
from capcheck.planning.cycle_time import MachineTime, Term
from capcheck.planning.line_figures import PassFigures
from capcheck.planning.plan import Plan, SetUp, Shortage
from capcheck.planning.what_if import Change

_MANY = 10


def _span(value: Interval, unit: str, digits: int = 2) -> str:
    if math.isinf(value.high):
        return f"at least {value.low:,.{digits}f} {unit}" if value.low > 0 else f"unknown {unit}"
    if math.isclose(value.low, value.high, rel_tol=1e-9, abs_tol=1e-12):
        return f"{value.low:,.{digits}f} {unit}"
    return f"{value.low:,.{digits}f} to {value.high:,.{digits}f} {unit}"


def _count(value: Interval) -> str:
    if math.isinf(value.high):
        return f"at least {value.low:g}"
    if math.isinf(value.low):
        return f"at most {value.high:g}"
    return f"{value.low:g}" if value.is_exact else f"{value.low:g} to {value.high:g}"


def _rate(value: Interval, unit: str) -> str:
    if value.low == 0 and math.isfinite(value.high):
        return f"at most {value.high:,.0f} {unit}"
    return _span(value, unit, 0)


def _some(names: tuple[str, ...] | list[str]) -> str:
    more = f" and {len(names) - _MANY} more" if len(names) > _MANY else ""
    return ", ".join(names[:_MANY]) + more


def _term(term: Term) -> str:
    note = f"  ({term.note})" if term.note else ""
    return f"{term.name}: {term.count:g} × {term.seconds:.4g} s = {term.total:.3f} s{note}"


def _machine_time(time: MachineTime) -> Iterator[str]:
    bases = "; ".join(map(str, time.bases)) or "places nothing"
    yield f"    {time.machine}: {_span(time.seconds, 's')} for {time.placements} placements ({bases})"
    fixed = [time.transfer, time.fiducials]
    for term in fixed:
        yield f"      {_term(term)}"
    for gantry in time.gantries:
        for head, terms in gantry.heads:
            for term in terms:
                yield f"      gantry {gantry.gantry}, {head}: {_term(term)}"
    if len(time.gantries) > 1:
        totals = ", ".join(f"{g.total:.3f}" for g in time.gantries)
        above = " + ".join(f"{g.over_board:.3f}" for g in time.gantries)
        over = sum(g.over_board for g in time.gantries)
        yield f"      placing: longest gantry of {totals} s, not less than over the board {above} = {over:.3f} s"
    transfer, marks = time.transfer.total, time.fiducials.total
    if time.hidden_transfer:
        yield (
            f"      two lanes: the larger of {marks:.3f} + {time.placing:.3f} and "
            f"({transfer:.3f} + {marks:.3f} + {time.placing:.3f}) / 2 = {time.planned:.3f} s"
        )
    else:
        yield f"      {transfer:.3f} + {marks:.3f} + {time.placing:.3f} = {time.planned:.3f} s"
    if time.rated is not None:
        yield f"      at rated speed, placing alone: {time.rated:.3f} s (for comparison, not an expectation)"
    if time.missing:
        yield f"      not stated, so at least this: {', '.join(time.missing)}"


def _figures(plan: Plan, set_up: SetUp, figures: PassFigures) -> Iterator[str]:
    yield f"  {figures.board}: {figures.placements} placements"
    if set_up.by_count:
        yield "    cycle: not computed"
        return
    yield f"    cycle {_span(figures.cycle, 's')}, set by {figures.bottleneck}"
    yield f"    {_span(figures.boards_per_hour, 'boards/h', 1)} while the line runs (3600 s / cycle)"
    yield f"    {_rate(figures.placements_per_hour, 'placements/h')} ({figures.placements} × boards/h)"
    per_area = plan.expected_per_hour_and_m2(figures)
    if per_area is not None:
        yield f"    {_rate(per_area, 'placements/h/m²')} (on {plan.floor.machine_area_m2:.3f} m² of machines)"
    machines = [s for s in figures.stations if s.places]
    seconds = " + ".join(f"{s.planned:.2f}" for s in machines)
    slowest = max(s.planned for s in machines)
    yield f"    balance ({seconds}) / ({len(machines)} × {slowest:.2f}) = {100 * figures.efficiency:.1f} %"
    for s in figures.stations:
        if not s.places:
            yield f"    {s.name}: {_span(s.seconds, 's')}"
    if figures.takt is not None:
        word = {True: "kept", False: "not kept", None: "open"}[figures.keeps_takt]
        yield f"    takt {figures.takt:.2f} s: {word}"
    if figures.untimed:
        yield f"    time not fully stated: {', '.join(figures.untimed)}"


def _set_up(plan: Plan, set_up: SetUp) -> Iterator[str]:
    yield f"Set-up: {set_up.name} ({set_up.reading})"
    unit = "placements" if set_up.by_count else "s"
    state = "within the gap asked for" if set_up.status == "optimal" else "the time limit ended the search"
    yield (
        f"  busiest machine {set_up.seconds:.3f} {unit}, proven bound {set_up.bound:.3f} {unit}, "
        f"gap {100 * set_up.gap:.2f} % ({state})"
    )
    for o in set_up.occupied:
        free = "free unknown" if o.slots_free is None else f"{o.slots} there, {_count(o.slots_free)} free"
        unit_slots = (
            f", {o.tray_unit_slots} of them for the tray unit" if o.tray_unit_slots and o.trays_needed.high else ""
        )
        yield f"  {o.machine}: {_count(o.slots_needed)} slots needed{unit_slots}, {free}"
        if o.trays_needed.high:
            there = "unknown" if o.trays is None else str(o.trays)
            yield f"  {o.machine}: {_count(o.trays_needed)} tray places needed, {there} there"
    for figures, times in zip(set_up.figures, set_up.times, strict=True):
        yield from _figures(plan, set_up, figures)
        if not set_up.by_count:
            for time in times:
                yield from _machine_time(time)
    open_feeders = [f for f in set_up.feeders if f.undecided]
    for f in open_feeders[:_MANY]:
        yield f"  not proved: {f.part} on {f.machine}: {'; '.join(f.undecided)}"
    if len(open_feeders) > _MANY:
        yield f"  not proved: {len(open_feeders) - _MANY} more"


def _shortage(shortage: Shortage) -> Iterator[str]:
    yield "Not everything can be placed:"
    for n in shortage.nowhere:
        yield f"  no machine takes {n.part} ({n.placements} placements)"
        for head, text in n.reasons:
            yield f"    {head}: {text}"
    for machine, number in shortage.slots_short:
        yield f"  {number:g} feeder slot(s) short; that many more on {machine} would do"
    for machine, number in shortage.trays_short:
        yield f"  {number:g} tray place(s) short; that many more on {machine} would do"
    if shortage.order:
        yield "  the order of heights along the line or the kinds of nozzles stand against it"
    parts = [f"{part} ({count})" for part, count in shortage.take_off]
    proved = "proved" if shortage.proved else "not proved in the time limit"
    total = sum(count for _, count in shortage.take_off)
    yield f"  fewest to take off: {total} placements of {len(parts)} part numbers ({proved}): {_some(parts)}"


def _line_figures(plan: Plan) -> Iterator[str]:
    floor = plan.floor
    if floor.length_mm is not None:
        free = "" if floor.free_length_mm is None else f" of {floor.free_length_mm:,.0f} mm free"
        yield f"Length: {floor.length_mm:,.0f} mm{free}"
    elif floor.missing:
        yield f"Length: unknown, not stated by {_some(floor.missing)}"
    if plan.rated_per_hour is not None:
        area = plan.rated_per_hour_and_m2
        per_area = "" if area is None else f", {area:,.0f} /h/m² on {floor.machine_area_m2:.3f} m²"
        yield f"Rated (never mixed with expected): {plan.rated_per_hour:,.0f} placements/h{per_area}"
    if plan.uptime is not None:
        yield f"Uptime: {_span(plan.uptime, 'of scheduled time')} (product of the machines' to the least of them)"
    demand = plan.demand
    if demand is not None:
        share = "1 (uptime not stated)" if demand.uptime is None else f"{demand.uptime.low:.3f}"
        yield (
            f"Takt: {demand.hours_per_year:g} h × 3600 s × {share} / {demand.passes_per_year:g} boards "
            f"= {demand.takt:.2f} s"
        )
        yield f"Running hours a year: {_span(demand.needed_hours, 'h')} needed, {_span(demand.there_hours, 'h')} there"


def _change(change: Change) -> str:
    hand = "" if change.hand_seconds is None else f", {change.hand_seconds:.1f} s by hand per board"
    cycle = "cycle not computed" if change.seconds is None else f"cycle {change.seconds:.2f} s"
    if change.solves:
        return f"  {change.what}: everything has a place, {cycle}{hand}"
    if change.fewer_left > 0:
        return f"  {change.what}: {change.fewer_left} part numbers fewer left over{hand}"
    return f"  {change.what}: saves {change.saves or 0.0:.2f} s, {cycle}{hand}"


def plan_text(plan: Plan, changes: tuple[Change, ...] = ()) -> str:
    """Return a plan as text; *changes* are what would change it. The last line is the verdict."""
    lines = [f"Plan of {plan.job.name} on {plan.line} ({', '.join(plan.machines)})"]
    lines += [f"  {plan.verdict}: {text}" for text in plan.why]
    if plan.shortage is not None:
        lines += _shortage(plan.shortage)
    for set_up in plan.set_ups:
        lines += _set_up(plan, set_up)
    for c in plan.changeovers:
        lines.append(f"Changeover {c.before} to {c.after}: {len(c.out)} feeders out, {len(c.into)} in")
    lines += _line_figures(plan)
    lines += [f"Not computed: {text}" for text in plan.not_computed]
    lines += [f"Note: {text}" for text in plan.notes]
    if changes:
        lines += ["What would change it:", *map(_change, changes)]
    return "\n".join([*lines, f"Verdict: {plan.verdict}"]) + "\n"


def _cell(value: float | None, digits: int) -> str:
    return "unknown" if value is None else f"{value:,.{digits}f}"


def comparison_text(comparison: Comparison) -> str:
    """Return a comparison of lines as a table of text; the last line names the best."""
    head = ("line", "verdict", "left over", "slots needed/there", "cycle s", "length mm", "area m²", "/h/m²", "out/in")
    rows = [head]
    for r in comparison.rows:
        needed = _count(Interval(*r.slots_needed))
        there = "unknown" if r.slots is None else str(r.slots)
        rows.append((
            r.line, r.verdict, str(r.left_over), f"{needed}/{there}", _cell(r.cycle, 2), _cell(r.length, 0),
            _cell(r.area, 3), _cell(r.per_hour_and_m2, 0), f"{r.changeover_out}/{r.changeover_in}",
        ))  # fmt: skip
    widths = [max(len(row[k]) for row in rows) for k in range(len(head))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    best = comparison.best
    name = "none places everything" if best is None else comparison.rows[best].line
    return "\n".join([*lines, f"Best by {comparison.criterion}: {name}"]) + "\n"
