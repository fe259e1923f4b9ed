"""``plan`` and ``compare``: from boards and lines to who places what, how fast, and which line suits."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Report, check
from capcheck.machines import Line, MachineProfile, line_of_machines, read_line
from capcheck.model import Codes
from capcheck.planning.checked_boards import PlanInput, Supply, plan_input
from capcheck.planning.comparison import Comparison, best_of, compare_lines
from capcheck.planning.composition import Composed, Stock, compose_line
from capcheck.planning.passage import judged, open_passages, stopping, stops
from capcheck.planning.planner import plan_line
from capcheck.planning.results import Plan, PlanSettings
from capcheck.planning.search import Deadline
from capcheck.planning.what_if import Change, what_if
from capcheck.values import InputError

_PLANNING: Final = 0.5
"""Share of the time for the plan where changes are tried too."""


class Planned(Struct, frozen=True):
    """A plan with what it was made from: the reports, the job and, where asked for, what would change it."""

    plan: Plan
    line: Line
    given: PlanInput
    reports: tuple[Report, ...]
    changes: tuple[Change, ...] = ()


def plan(
    boards: Sequence[str | Path],
    line: str | Path | Line,
    *,
    per_year: Sequence[float | None] | None = None,
    settings: PlanSettings | None = None,
    changes: bool = False,
    libraries: Sequence[str | Path] = (),
    supply: Supply | None = None,
    spare: Sequence[str | Path] = (),
    progress: Callable[[float, float, float], None] | None = None,
) -> Planned:
    """Return who places what of *boards* on *line*, so that the slowest machine is as fast as it can be.

    *per_year* are yearly quantities, one for each board. With *changes* single changes that would help are tried, in
    half of the time limit, each of the machine profiles *spare* as a machine more among them.
    *supply* is what the shop knows of reels and of placing by hand.
    Raises :class:`~capcheck.values.InputError`.
    """
    settings = settings or PlanSettings()
    devices = line if isinstance(line, Line) else read_line(line)
    reports = tuple(check(board, line=devices, libraries=libraries) for board in boards)
    given = plan_input(reports, per_year, supply)
    end = Deadline.after(settings.time_limit)
    found = plan_line(
        given.job,
        devices,
        given.can,
        given.reasons,
        settings=settings,
        progress=progress,
        deadline=end.part(_PLANNING) if changes else end,
    )
    tried: tuple[Change, ...] = ()
    if changes:
        more, opens, left_out = _spare(boards, devices, spare, libraries)
        found = replace(found, notes=(*found.notes, *left_out))
        tried = what_if(found, devices, given.can, reasons=given.reasons, spare=more, settings=settings, deadline=end)
        tried = _open_added(tried, opens)
    return Planned(judged(found, reports), devices, given, reports, tried)


def _spare(
    boards: Sequence[str | Path], line: Line, spare: Sequence[str | Path], libraries: Sequence[str | Path]
) -> tuple[list[tuple[MachineProfile, Codes]], dict[str, str], list[str]]:
    """Return spare machines that do not stop the boards, with what their heads take of the boards' parts.

    Beside them, by machine, what leaves open whether the boards pass it; and what stops them in the others.
    """
    found: list[tuple[MachineProfile, Codes]] = []
    opens: dict[str, str] = {}
    left_out: list[str] = []
    if not spare:
        return found, opens, left_out
    every = line_of_machines([Path(profile) for profile in spare])
    for machine in every.machines:
        alone = replace(line, machines=(machine,))
        reports = [check(board, line=alone, libraries=libraries) for board in boards]
        stopped = stops(reports)
        if stopped:
            left_out.append(f"{machine.name} is not tried as a machine more, the board does not pass: {stopped[0]}")
        else:
            found.append((machine, plan_input(reports).can))
            passages = open_passages(reports, (machine.name,))
            if passages:
                opens[machine.name] = "; ".join(passages)
    return found, opens, left_out


def _open_added(changes: Sequence[Change], opens: Mapping[str, str]) -> tuple[Change, ...]:
    """Return the changes; a spare machine of which it is open whether the boards pass it says so."""
    return tuple(
        replace(change, what=f"{change.what} ({opens[name]})")
        if change.kind == "machine more" and (name := re.sub(r"( #\d+)? added$", "", change.what)) in opens
        else change
        for change in changes
    )


def compare(
    boards: Sequence[str | Path],
    lines: Sequence[str | Path],
    *,
    per_year: Sequence[float | None] | None = None,
    by: str = "cycle",
    settings: PlanSettings | None = None,
    libraries: Sequence[str | Path] = (),
    supply: Supply | None = None,
    progress: Callable[[float, float, float], None] | None = None,
) -> Comparison:
    """Return the plans of *boards* on each of *lines* side by side, and the best by a criterion.

    Raises :class:`~capcheck.values.InputError`.
    """
    settings = settings or PlanSettings()
    devices = [read_line(line) for line in lines]
    checked = [[check(board, line=line, libraries=libraries) for board in boards] for line in devices]
    inputs = [plan_input(reports, per_year, supply) for reports in checked]
    asked = [(line, given.can, given.reasons) for line, given in zip(devices, inputs, strict=True)]
    compared = compare_lines(inputs[0].job, asked, criterion=by, settings=settings, progress=progress)
    plans = [judged(row.plan, reports) for row, reports in zip(compared.rows, checked, strict=True)]
    rows = tuple(replace(row, plan=p, verdict=p.verdict) for row, p in zip(compared.rows, plans, strict=True))
    return replace(compared, rows=rows, best=best_of(rows, by))


def compose(
    boards: Sequence[str | Path],
    stock: Sequence[str | Path],
    *,
    per_year: Sequence[float | None] | None = None,
    by: str = "cycle",
    max_machines: int = 4,
    max_length_mm: float | None = None,
    settings: PlanSettings | None = None,
    libraries: Sequence[str | Path] = (),
    supply: Supply | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Composed, Line]:
    """Return the best line composed of machine profiles, and the whole stock as a line.

    The machines of a line stand in the order of the room that they leave above the board, least first.
    Raises :class:`~capcheck.values.InputError`.
    """
    if max_machines < 1:
        raise InputError.at("max-machines", f"{max_machines} machines make no line", remedy="allow one or more")
    every = _passable(boards, line_of_machines([Path(profile) for profile in stock]), libraries)
    reports = [check(board, line=every, libraries=libraries) for board in boards]
    given = plan_input(reports, per_year, supply)
    heads = [len(machine.head) for machine in every.machines]
    starts = [sum(heads[:k]) for k in range(len(heads))]
    can = tuple(given.can[:, start : start + n] for start, n in zip(starts, heads, strict=True))
    reasons = tuple(
        {(part, h - start): text for (part, h), text in given.reasons.items() if start <= h < start + n}
        for start, n in zip(starts, heads, strict=True)
    )
    shelf = Stock(every.machines, can, max_machines=max_machines, max_length_mm=max_length_mm, reasons=reasons)
    settings = settings or PlanSettings()
    found = compose_line(
        given.job, shelf, criterion=by, settings=replace(settings, gap=max(settings.gap, 0.01)), progress=progress
    )
    if found.row is not None and found.chosen is not None:
        plan_of_it = judged(found.row.plan, reports, [every.machines[k].name for k in found.chosen])
        found = replace(found, row=replace(found.row, plan=plan_of_it, verdict=plan_of_it.verdict))
    return found, every


def _low_first(machines: Sequence[MachineProfile]) -> list[MachineProfile]:
    """Return machines in the order in which they get least in each other's way.

    Those with little room above the board come first: a tall part that an earlier machine placed would keep them from
    placing anything. Those that state no room are taken to need none.
    """
    return sorted(machines, key=lambda m: math.inf if m.board.top_clearance is None else m.board.top_clearance)


def _passable(boards: Sequence[str | Path], every: Line, libraries: Sequence[str | Path]) -> Line:
    """Return the stock without the machines that a board does not pass."""
    stopped = stopping(check(board, line=every, libraries=libraries) for board in boards)
    machines = tuple(machine for machine in _low_first(every.machines) if machine.name not in stopped)
    if not machines:
        what = "no machine of the stock lets the boards pass"
        raise InputError.at("stock", what, remedy="see what stops them: capcheck check")
    return replace(every, machines=machines)
