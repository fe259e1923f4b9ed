"""What customers have answered, as the shop keeps it: in its store, else in a CSV file; read alike from both.

The file has a row for each answer, the latest last.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import astuple

from capcheck.values import InputError, Place, as_written, read_text

if TYPE_CHECKING:
    from capcheck.shop.settings import Settings

ANSWER_COLUMNS: Final = ("board", "key", "version", "answer", "closes", "by", "on", "from", "goes to")
_YES: Final = "yes"


class GivenAnswer(Struct, frozen=True):
    """One answer: the question's key and the hash of what was asked, the words, who gave them and when."""

    board: str
    key: str
    asked: str
    answer: str
    closes: bool
    """Whether the question is not put again; an answer in figures closes it by what they decide."""
    by: str
    on: str
    where: str = ""
    goes_to: str = ""


def answers_given(settings: Settings, board: str) -> list[GivenAnswer]:
    """Return what was answered of the *board* of this name: what the file of answers holds, then what the store does.

    Raises :class:`~capcheck.values.InputError`.
    """
    listed = read_answers(settings.answers) if settings.answers is not None else []
    return [*(one for one in listed if one.board == board), *_in_store(settings, board)]


def _in_store(settings: Settings, board: str) -> list[GivenAnswer]:
    if settings.store is None:
        return []
    from capcheck.store import BoardKey, open_store

    with open_store(settings.store, create=False, read_only=True) as store:
        standing = store.questions(BoardKey(board, settings.customer), only_open=False)
    return [
        GivenAnswer(
            board,
            one.question.key,
            answer.fingerprint,
            answer.text,
            answer.settles,
            answer.given.who,
            answer.given.date,
            answer.given.where,
            answer.goes_to,
        )
        for one in standing
        for answer in one.answers
    ]


def read_answers(path: Path) -> list[GivenAnswer]:
    """Return the answers in a file that :func:`answers_as_text` wrote; none where it is not there yet.

    Raises :class:`~capcheck.values.InputError` where it is something else.
    """
    if not path.exists():
        return []
    rows = list(csv.reader(io.StringIO(read_text(path, "answers"), newline="")))
    if not rows or tuple(rows[0][: len(ANSWER_COLUMNS)]) != ANSWER_COLUMNS:
        raise InputError.at(
            Place(str(path), 1),
            "is not a file of answers",
            "its first row names other columns",
            f"name another file in the configuration; capcheck answers writes it: {','.join(ANSWER_COLUMNS)}",
        )
    short = [number for number, row in enumerate(rows, 1) if row and len(row) < len(ANSWER_COLUMNS)]
    if short:
        raise InputError.at(
            Place(str(path), short[0]),
            "has too few cells",
            "it is not known what was answered",
            "restore the file, or delete the row",
        )
    return [_answer([as_written(cell) for cell in row]) for row in rows[1:] if row]


def _answer(cells: Sequence[str]) -> GivenAnswer:
    board, key, asked, answer, closes, by, on, where, goes_to = cells[: len(ANSWER_COLUMNS)]
    return GivenAnswer(board, key, asked, answer, closes == _YES, by, on, where, goes_to)


def answers_as_text(answers: Iterable[GivenAnswer]) -> list[tuple[str, ...]]:
    """Return answers as the rows of their file, the titles first."""
    rows = [tuple(_YES if v is True else "no" if v is False else str(v) for v in astuple(a)) for a in answers]
    return [ANSWER_COLUMNS, *rows]


def answered_of(answers: Iterable[GivenAnswer], board: str) -> frozenset[tuple[str, str]]:
    """Return what need not be asked again of the board of this name: keys, each with the hash of what was asked."""
    return frozenset((one.key, one.asked) for one in answers if one.closes and one.board == board)
