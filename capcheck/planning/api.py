"""``plan`` and ``compare``: from boards and lines to who places what, how fast, and which line suits."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Prepared, Report, check_read, prepare, read_prepared
from capcheck.lexicon import sentence
from capcheck.machines import Line, line_of_machines, read_line
from capcheck.model import Board, Said, say
from capcheck.planning.board_passage import in_panels, judged, open_passages, stopping, stops
from capcheck.planning.break_even import with_break_even
from capcheck.planning.candidate_changes import Spare, room_above, without_room
from capcheck.planning.job_of_boards import PlanInput, Supply, plan_input
from capcheck.planning.line_comparison import BY_COST, CandidateLine, Comparison, Row, compare_lines
from capcheck.planning.line_from_stock import Composed, compose_line
from capcheck.planning.plan_data import Plan, PlanSettings
from capcheck.planning.planner import plan_line
from capcheck.planning.search import Deadline, Progress
from capcheck.planning.stock import Stock
from capcheck.planning.what_if import Change, what_if
from capcheck.shop import Settings
from capcheck.values import InputError

_PLANNING: Final = 0.5
"""Share of the time for the plan where changes are tried too."""


class Planned(Struct, frozen=True):
    """A plan with what it was made from: the reports and the job; where asked for, what would change it."""

    plan: Plan
    line: Line
    given: PlanInput
    reports: tuple[Report, ...]
    changes: tuple[Change, ...] = ()


class _Boards(Struct, frozen=True):
    """Boards as they were read, once for all the lines that they are checked against."""

    boards: Sequence[tuple[Board, Prepared]]
    """Each with what holds for it: rules, limits, waivers."""

    @classmethod
    def read(cls, paths: Sequence[str | Path], libraries: Sequence[str | Path], shop: Prepared | None) -> _Boards:
        """Read the boards as the *shop* has it, else with *libraries* and by the rules that ship. Raises InputError."""
        shop = prepare(Settings(libraries=[Path(file) for file in libraries]), None) if shop is None else shop
        own = [(path, shop.of_board(path)) for path in paths]
        return cls([(read_prepared(given, path), given) for path, given in own])

    def against(self, line: Line, *, as_sent: bool = False) -> tuple[Report, ...]:
        """Check the boards against a line, in a panel where it does not take them *as_sent*."""
        return tuple(check_read(given, board, line, as_sent=as_sent) for board, given in self.boards)

    def carried(self, reports: Sequence[Report]) -> _Boards:
        """Return the boards as a line carries them, of which *reports* are: in the panels that would be ordered."""
        return _Boards([(report.carried.board, given) for report, (_, given) in zip(reports, self.boards, strict=True)])

    def inputs(self, *lines: Line) -> tuple[str, ...]:
        """Return the paths of the files of the boards and of *lines*."""
        files = [*(board.inputs for board, _ in self.boards), *(line.inputs for line in lines)]
        files += [given.inputs for _, given in self.boards]
        return tuple(file.path for listed in files for file in listed)


def plan(
    boards: Sequence[str | Path],
    line: str | Path | Line,
    *,
    per_year: Sequence[float | None] | None = None,
    settings: PlanSettings | None = None,
    changes: bool = False,
    break_even: bool = False,
    libraries: Sequence[str | Path] = (),
    shop: Prepared | None = None,
    supply: Supply | None = None,
    spare: Sequence[str | Path] = (),
    progress: Progress | None = None,
) -> Planned:
    """Return who places what of *boards* on *line*, so that the slowest machine is as fast as it can be.

    *per_year* are yearly quantities, one for each board. With *changes* single changes that would help are tried, in
    half of the time limit, each of the machine profiles *spare* as a machine more among them. With *break_even* one
    common set-up is compared with one for each pass, in another part of it.
    *supply* is what the shop knows of reels and of placing by hand, *shop* its rules, limits,
    waivers and libraries, which else are those that ship and *libraries*.
    Raises :class:`~capcheck.values.InputError`.
    """
    settings = settings or PlanSettings()
    devices = line if isinstance(line, Line) else read_line(line)
    read = _Boards.read(boards, libraries, shop)
    reports = read.against(devices)
    given = plan_input(reports, per_year, supply)
    end = Deadline.after(settings.time_limit)
    found = plan_line(
        given.job,
        devices,
        given.can,
        given.reasons,
        settings=settings,
        progress=progress,
        deadline=end.part(_PLANNING) if changes or break_even else end,
    )
    if break_even:

        def planned_as(set_up: str) -> Plan:
            own = replace(settings, set_up=set_up, thorough=False)
            return plan_line(given.job, devices, given.can, given.reasons, settings=own, deadline=end.part(_PLANNING))

        found = with_break_even(found, reports, planned_as)
    if not (changes and given.job.passes):
        return Planned(judged(found, reports), devices, given, reports)
    more, left_out = _spare(read.carried(reports), devices, spare)
    tried = what_if(found, devices, given.can, reasons=given.reasons, spare=more, settings=settings, deadline=end)
    left_out += without_room(devices, [*devices.machines, *(one.machine for one in more)])
    found = replace(found, notes=(*found.notes, *left_out))
    return Planned(judged(found, reports), devices, given, reports, tried)


def _spare(carried: _Boards, line: Line, profiles: Sequence[str | Path]) -> tuple[list[Spare], list[Said]]:
    """Return the spare machines that do not stop the boards as the line carries them, and what stops others."""
    found: list[Spare] = []
    left_out: list[Said] = []
    if not profiles:
        return found, left_out
    for machine in line_of_machines([Path(profile) for profile in profiles]).machines:
        # Each machine alone could ask for another panel: the whole line tells which.
        reports = carried.against(replace(line, machines=(machine,)), as_sent=True)
        stopped = stops(reports)
        if stopped:
            left_out.append(say("planning.spare machine stops the board", machine=machine.name, why=stopped[0]))
        else:
            passage = open_passages(reports, (machine.name,))
            found.append(Spare(machine, plan_input(reports).can, tuple(passage)))
    return found, left_out


def compare(
    boards: Sequence[str | Path],
    lines: Sequence[str | Path],
    *,
    per_year: Sequence[float | None] | None = None,
    by: str = "cycle",
    settings: PlanSettings | None = None,
    libraries: Sequence[str | Path] = (),
    shop: Prepared | None = None,
    supply: Supply | None = None,
    progress: Progress | None = None,
    found: Callable[[Row], None] | None = None,
) -> Comparison:
    """Return the plans of *boards* on each of *lines* side by side, and the best by a criterion.

    *found* is told each line as soon as it is planned. Raises :class:`~capcheck.values.InputError`.
    """
    if not lines:
        raise InputError.at("lines", "no line is named", remedy="name two or more to compare")
    devices = [read_line(line) for line in lines]
    read = _Boards.read(boards, libraries, shop)
    if by == BY_COST:
        _refuse_without_rates([given.settings for _, given in read.boards])
    asked = []
    for line in devices:
        reports = read.against(line)
        given = plan_input(reports, per_year, supply)
        asked.append(CandidateLine(line, given.can, given.reasons, reports, given.job))
    compared = compare_lines(
        given.job, asked, criterion=by, settings=settings or PlanSettings(), progress=progress, found=found
    )
    return replace(compared, inputs=read.inputs(*devices))


def _refuse_without_rates(shops: Sequence[Settings]) -> None:
    """Raise :class:`InputError` where no rates are stated for a board, or in several currencies."""
    if not all(shop.costs.states_rates for shop in shops):
        what = "lines cannot be compared by cost: the configuration states no rates"
        raise InputError.at("--by cost", what, remedy="state [costs] in capcheck.toml, such as machine_hour = 40")
    if len({shop.costs.currency for shop in shops}) > 1:
        what = "the costs of the boards are in several currencies"
        raise InputError.at("--by cost", what, "their sum means nothing", "state all costs in one currency")


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
    shop: Prepared | None = None,
    supply: Supply | None = None,
    around: str | Path | None = None,
    progress: Callable[[int, int], None] | None = None,
    found: Callable[[tuple[str, ...], float], None] | None = None,
) -> Composed:
    """Return the best line composed of machine profiles.

    The machines of a line stand in the order of the room that they leave above the board, least first. *around* is a
    line file whose stations, benches and floor hold for it, in place of its machines. *found* is told the machines and
    the mean cycle of each line that is the best so far.
    Raises :class:`~capcheck.values.InputError`.
    """
    if max_machines < 1:
        raise InputError.at("max-machines", f"{max_machines} machines make no line", remedy="allow one or more")
    if max_length_mm is not None and max_length_mm <= 0:
        what = f"{max_length_mm / 1000:g} m is no length for a line"
        raise InputError.at("max-length", what, remedy="state what the floor has, or leave it out")
    devices = line_of_machines([Path(profile) for profile in stock])
    beside = None if around is None else read_line(around)
    if beside is not None and beside.file is not None:
        _refuse_without_lengths(beside, max_length_mm)
        # Its options are those of its own machines, though one of the stock may bear the name.
        devices = replace(devices, file=beside.file.model_copy(update={"options": {}}))
    read = _Boards.read(boards, libraries, shop)
    # Each machine alone could ask for another panel: one that the whole stock takes is carried by any line of it.
    in_stock = read.against(devices)
    carried = read.carried(in_stock)
    every = _passable(carried, devices)
    reports = carried.against(every, as_sent=True)
    given = plan_input(reports, per_year, supply)
    if not given.job.passes:
        raise InputError.at(
            given.job.name,
            "there is no part that a placement head could place",
            "no machine is needed for it, and no line composed",
            "check which parts are marked as not fitted, or their side",
        )
    heads = [len(machine.head) for machine in every.machines]
    starts = [sum(heads[:k]) for k in range(len(heads))]
    shelf = Stock(
        every.machines,
        tuple(given.can[:, start : start + n] for start, n in zip(starts, heads, strict=True)),
        max_machines=max_machines,
        max_length_mm=max_length_mm,
        reasons=tuple(
            {(part, h - start): takes for (part, h), takes in given.reasons.items() if start <= h < start + n}
            for start, n in zip(starts, heads, strict=True)
        ),
        reports=reports,
        around=devices.file,
    )
    _refuse_too_short(shelf)
    settings = settings or PlanSettings()
    settings = replace(settings, gap=max(settings.gap, 0.01))
    best = compose_line(given.job, shelf, criterion=by, settings=settings, progress=progress, found=found)
    if best.row is not None:
        best = replace(best, row=replace(best.row, plan=in_panels(best.row.plan, in_stock)))
    return replace(best, inputs=read.inputs(devices, *(() if beside is None else (beside,))))


def _refuse_without_lengths(line: Line, max_length_mm: float | None) -> None:
    """Raise :class:`InputError` where the floor is limited, and stations state no length or leave nothing of it."""
    file = line.file
    limits = [limit for limit in (max_length_mm, file.free_length if file else None) if limit is not None]
    taken = sum(s.length or 0.0 for s in line.stations)
    if limits and taken >= min(limits):
        what = f"its stations take {taken:,.0f} mm of {min(limits):,.0f} mm, which leaves nothing for machines"
        raise InputError.at(line.name, what, remedy="correct free_length, --max-length or the lengths of the stations")
    unstated = [s.name for s in line.stations if s.length is None]
    if file is not None and unstated and (max_length_mm is not None or file.free_length is not None):
        what = f"{unstated[0]} states no length, so nothing tells what it leaves for machines"
        raise InputError.at(line.name, what, remedy="state length for each station of the line file")


def _refuse_too_short(stock: Stock) -> None:
    """Raise :class:`InputError` where the floor has no length for a single machine of the stock."""
    longest, lengths = stock.longest_mm, [m.floor_width for m in stock.profiles if m.floor_width is not None]
    if longest is None or (longest > 0 and not lengths) or min(lengths, default=math.inf) <= longest:
        return
    if longest <= 0:
        what = f"stations and benches leave nothing of {stock.floor_mm / 1000:g} m for machines"
    else:
        what = f"no machine of the stock fits into {longest:,.0f} mm, which is what is left of the floor"
    raise InputError.at("length of the line", what, remedy="state more free length, or shorter stations or machines")


def _passable(read: _Boards, stock: Line) -> Line:
    """Return the stock without the machines that a board does not pass, those with least room above the board first.

    A tall part that an earlier machine placed would keep a machine with little room from placing anything.
    """
    reports = read.against(stock, as_sent=True)
    stopped = stopping(reports)
    machines = tuple(m for m in sorted(stock.machines, key=room_above) if m.name not in stopped)
    if not machines:
        reasons = "; ".join(dict.fromkeys(map(sentence, stops(reports))))
        what = f"no machine of the stock lets the boards pass: {reasons}"
        raise InputError.at("stock", what, remedy="compose without these boards, or add a machine that takes them")
    return replace(stock, machines=machines)
