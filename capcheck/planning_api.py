"""``plan`` and ``compare``: from boards and lines to who places what, how fast, and which line suits."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from capcheck.checking import check
from capcheck.errors import InputError, Problem, Where
from capcheck.machines.line import Line, line_of_machines, read_line
from capcheck.plan_job import PlanInput, plan_input
from capcheck.planning.compare import Comparison, Composed, Stock, compare_lines, compose_line
from capcheck.planning.plan import Plan, PlanSettings
from capcheck.planning.planner import plan_line
from capcheck.planning.what_if import Change, what_if
from capcheck.report.model import Report


@dataclass(frozen=True, slots=True)
class Planned:
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
    progress: Callable[[float, float, float], None] | None = None,
) -> Planned:
    """Return who places what of *boards* on *line*, so that the slowest machine is as fast as it can be.

    *per_year* are yearly quantities, one for each board. With *changes* single changes that would help are tried.
    Raises :class:`~capcheck.errors.InputError`.
    """
    settings = settings or PlanSettings()
    devices = line if isinstance(line, Line) else read_line(line)
    reports = tuple(check(board, line=devices, libraries=libraries) for board in boards)
    given = plan_input(reports, per_year)
    found = plan_line(given.job, devices, given.can, given.reasons, settings=settings, progress=progress)
    tried = what_if(found, devices, given.can, settings=settings) if changes else ()
    return Planned(found, devices, given, reports, tried)


def compare(
    boards: Sequence[str | Path],
    lines: Sequence[str | Path],
    *,
    per_year: Sequence[float | None] | None = None,
    by: str = "cycle",
    settings: PlanSettings | None = None,
    libraries: Sequence[str | Path] = (),
) -> Comparison:
    """Return the plans of *boards* on each of *lines* side by side, and the best by a criterion.

    Raises :class:`~capcheck.errors.InputError`.
    """
    settings = settings or PlanSettings()
    devices = [read_line(line) for line in lines]
    inputs = [
        plan_input([check(board, line=line, libraries=libraries) for board in boards], per_year) for line in devices
    ]
    rows = [(line, given.can, given.reasons) for line, given in zip(devices, inputs, strict=True)]
    return compare_lines(inputs[0].job, rows, criterion=by, settings=settings)


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
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Composed, Line]:
    """Return the best line composed of machine profiles, and the whole stock as a line.

    Raises :class:`~capcheck.errors.InputError`.
    """
    if max_machines < 1:
        raise InputError(
            Problem(Where("max-machines"), f"{max_machines} machines make no line", remedy="allow one or more")
        )
    every = line_of_machines([Path(profile) for profile in stock])
    given = plan_input([check(board, line=every, libraries=libraries) for board in boards], per_year)
    heads = [len(machine.head) for machine in every.machines]
    starts = [sum(heads[:k]) for k in range(len(heads))]
    can = tuple(given.can[:, start : start + n] for start, n in zip(starts, heads, strict=True))
    shelf = Stock(every.machines, can, max_machines=max_machines, max_length_mm=max_length_mm)
    settings = settings or PlanSettings()
    return compose_line(
        given.job, shelf, criterion=by, settings=replace(settings, gap=max(settings.gap, 0.01)), progress=progress
    ), every
