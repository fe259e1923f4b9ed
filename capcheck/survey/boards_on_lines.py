"""The survey: each board read once, checked against every line and planned on it, and only its numbers kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from pathlib import Path
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Prepared, Report, check_read, prepare, read_prepared
from capcheck.machines import Line
from capcheck.model import InputFile, Note
from capcheck.shop import Settings
from capcheck.survey.board_on_line import line_result
from capcheck.survey.each_board import Watch
from capcheck.survey.kept_results import BesideTheBoard, Results
from capcheck.survey.named_boards import named_boards
from capcheck.survey.obstacles import obstacles_of
from capcheck.survey.results import BoardResult, LineResult, Survey
from capcheck.values import InputError, Interval

_GAP: Final = 0.02
"""Share of the cycle within which a plan is good enough for a table of many boards."""
Questions = Callable[[Report], int]
"""How many questions to the customer a report asks."""


class Surveyor(Struct, frozen=True):
    """What every board of a survey is checked with: the lines and rules, and how its cycle is planned.

    *plan_seconds* is the time for the plan of one board on one line, 0 for none.
    """

    lines: Sequence[Line]
    given: Prepared
    questions: Questions
    plan_seconds: float = 1.0
    kept: Results | None = None
    """Where results are kept, and taken from if nothing changed that they hang on."""

    @classmethod
    def prepared(
        cls,
        settings: Settings,
        lines: Sequence[Line],
        questions: Questions,
        plan_seconds: float = 1.0,
        *,
        keep: Path | None = None,
    ) -> Surveyor:
        """Return a surveyor with the rules and libraries of the settings; *keep* is a folder for results.

        Raises :class:`InputError`.
        """
        if not lines:
            raise InputError.at("lines", "no line is named", "a survey sets boards against lines", "name one: --line")
        names = [line.name for line in lines]
        if twice := sorted({name for name in names if names.count(name) > 1}):
            raise InputError.at(
                "lines", f'two lines are named "{twice[0]}"', "columns of the survey bear their names", "rename one"
            )
        given = prepare(settings, None)
        kept = None if keep is None else Results(keep, BesideTheBoard(given, lines, [f"{plan_seconds:g}"]))
        return cls(lines, given, questions, plan_seconds, kept)

    def on_all(self, path: Path) -> BoardOnLines:
        """Return the board in *path* on every line. Raises :class:`InputError` where it cannot be read."""
        given = self.given.of_board(path)
        return self._on_all(path, given) if self.kept is None else self.kept.of(path, given, BoardOnLines, self._on_all)

    def _on_all(self, path: Path, given: Prepared) -> BoardOnLines:
        board = read_prepared(given, path)
        reports = [check_read(given, board, line) for line in self.lines]
        results = tuple(self.result_of(report, line) for report, line in zip(reports, self.lines, strict=True))
        questions = max(map(self.questions, reports))
        return BoardOnLines(board.name, tuple(board.inputs), board.manifest.per_year, questions, results)

    def result_of(self, report: Report, line: Line) -> LineResult:
        """Return what comes out for a board on a line, with its cycle where that can be planned."""
        result = line_result(report)
        # A board of parts that are all placed by hand has no plan, and is answered all the same.
        if not self.plan_seconds or result.stops or not any(taker.on_heads for taker in report.takers):
            return result
        cycle, per_hour = _planned(report, line, self.plan_seconds)
        return replace(result, cycle=cycle, per_hour=per_hour)


class BoardOnLines(Struct, frozen=True):
    """What comes out for a board on every line; *per_year* is what its board.toml states."""

    name: str
    inputs: tuple[InputFile, ...]
    per_year: float | None
    questions: int
    on: tuple[LineResult, ...]


def _planned(report: Report, line: Line, seconds: float) -> tuple[Interval | None, Interval | None]:
    """Return the line time for each board, and boards an hour while the line runs; None where it cannot be planned."""
    from capcheck.planning import PlanSettings, plan_input, plan_line

    try:
        given = plan_input([report])
    except InputError:  # nothing of it is for a head: it has no cycle, and is a board all the same
        return None, None
    found = plan_line(
        given.job, line, given.can, given.reasons, settings=PlanSettings(time_limit=seconds, gap=_GAP, thorough=False)
    )
    figures = found.board_figures()
    if len(figures) != 1 or not found.feasible:
        return None, None
    return figures[0].seconds_a_board, figures[0].per_hour


def survey(
    paths: Sequence[str | Path],
    surveyor: Surveyor,
    *,
    quantities: Mapping[str, float] | None = None,
    tell: Callable[[Note], None] = lambda _: None,
    watch: Watch = lambda *_: None,
    jobs: int = 1,
    executor: Executor | None = None,
) -> Survey:
    """Return the boards that *paths* name or hold on the lines of the *surveyor*; the rest is as in named_boards."""
    found = named_boards(
        paths,
        surveyor.on_all,
        given=surveyor.given,
        quantities=quantities,
        tell=tell,
        watch=watch,
        jobs=jobs,
        executor=executor,
    )
    boards = tuple(BoardResult(b.name, b.per_year, b.result.questions, b.result.on) for b in found.boards)
    return Survey(
        tuple(line.name for line in surveyor.lines),
        boards,
        tuple(obstacles_of(boards, line) for line in range(len(surveyor.lines))),
        found.unread,
        found.unused,
        tuple(file.path for b in found.boards for file in b.result.inputs),
    )
