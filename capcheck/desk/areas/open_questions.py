"""What is still open, worst first: the questions that the files raise, as the customer would be asked."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Area, Found, Seen
from capcheck.report import questions_by_key, without_folders


class OpenQuestion(Struct, frozen=True):
    """A question: how grave it is, what is asked, what counts without an answer, and what it is about."""

    key: str
    group: str
    ask: str
    otherwise: str
    refs: tuple[str, ...]
    where: str
    settle: str


class OpenQuestions(Struct, frozen=True):
    """All questions of the line that suits the board best."""

    questions: tuple[OpenQuestion, ...]


def made(found: Found) -> OpenQuestions:
    """Return every question that is not answered yet, what stops the order first."""
    paths = [file.path for file in found.board.inputs]
    return OpenQuestions(
        tuple(
            OpenQuestion(
                one.key,
                str(one.group),
                without_folders(one.ask, paths),
                one.otherwise,
                one.every or one.refs,
                without_folders(one.where, paths),
                one.settle,
            )
            for one in questions_by_key(found.asking).values()
        )
    )


def shown(_: Seen, data: OpenQuestions | None) -> OpenQuestions | None:
    """Return them as they are."""
    return data


AREA: Final = Area("open_questions", "Open questions", shown, OpenQuestions, made, ("checked",))
