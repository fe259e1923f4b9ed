"""What is asked of a board, as the shop's store keeps it: each question, and each part of one, by its key."""

from __future__ import annotations

from typing import TYPE_CHECKING

from capcheck.answers.settling import asked_now
from capcheck.store import Question

if TYPE_CHECKING:
    from capcheck.checking import Report


def questions_to_keep(report: Report) -> dict[str, Question]:
    """Return the questions that a report asks, and the parts of them, by their keys."""
    return {
        key: Question(key, asked.question.type, asked.words, asked.version, asked.refs)
        for key, asked in asked_now(report).items()
    }
