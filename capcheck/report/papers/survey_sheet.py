"""The survey as a page: boards by lines, and what stands in the way on each line."""

from __future__ import annotations

from msgspec import Struct

from capcheck.report.papers.sheets import page_of
from capcheck.report.survey import ObstacleView, cells_of, headline, obstacle_views, why_unread
from capcheck.survey import LineResult, Survey

_NAMES = ("parts", "undecided", "by hand", "slots", "cycle, s", "boards per hour")


class _OnLine(Struct, frozen=True):
    """A board on a line; *named* are the cells behind the verdict with the titles of their columns."""

    name: str
    verdict: str
    cells: tuple[str, ...]
    stops: str

    @classmethod
    def of(cls, line: str, result: LineResult) -> _OnLine:
        stops = dict.fromkeys(case.cause.title for case in result.stops)
        return cls(line, result.verdict, cells_of(result), "; ".join(stops))

    @property
    def named(self) -> list[tuple[str, str]]:
        return list(zip(_NAMES, self.cells[1:], strict=True))


class _Board(Struct, frozen=True):
    name: str
    per_year: float | None
    questions: int
    lines: list[_OnLine]


class _Line(Struct, frozen=True):
    name: str
    obstacles: tuple[ObstacleView, ...]


def survey_page(survey: Survey) -> str:
    """Return the page of a survey. Raises :class:`~capcheck.values.InputError`."""
    boards = [
        _Board(
            board.name,
            board.per_year,
            board.questions,
            [_OnLine.of(line, result) for line, result in zip(survey.lines, board.on, strict=True)],
        )
        for board in survey.boards
    ]
    filled = {name for board in boards for line in board.lines for name, cell in line.named if cell != ""}
    return page_of(
        "survey.html",
        said=headline(survey),
        columns=[name for name in _NAMES if name in filled],
        boards=boards,
        lines=[
            _Line(line, obstacle_views(of))
            for line, of in zip(survey.lines, survey.obstacles, strict=True)
            if survey.boards
        ],
        unread=[why_unread(one) for one in survey.unread],
        unused=survey.without_quantity,
    )
