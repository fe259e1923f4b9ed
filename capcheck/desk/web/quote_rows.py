"""A quote in the list of quotes: what the last checks of its boards came to."""

from __future__ import annotations

from msgspec import Struct

from capcheck.desk.shop_at_desk import summary_of
from capcheck.desk.workers import OnLine
from capcheck.store import Quote, QuoteBoard


class BoardRow(Struct, frozen=True):
    """A board in a list: what its last check came to."""

    board: QuoteBoard
    questions: int
    lines: tuple[OnLine, ...]
    told: str


class QuoteRow(Struct, frozen=True):
    """A quote in the list."""

    quote: Quote
    boards: tuple[BoardRow, ...]
    state: str
    questions: int

    @property
    def builds(self) -> int:
        """On how many lines every board of it builds, or would with what is asked."""
        verdicts: dict[str, list[bool]] = {}
        for row in self.boards:
            for on in row.lines:
                verdicts.setdefault(on.line, []).append(on.verdict in {"pass", "warn"})
        return sum(all(found) and len(found) == len(self.boards) for found in verdicts.values())


def row_of(quote: Quote) -> QuoteRow:
    """Return a quote with what its checks came to."""
    boards = []
    for board in quote.boards:
        summary, last = summary_of(board.last_done), board.last
        told = "" if last is None or last.outcome == "done" else last.told
        boards.append(BoardRow(board, summary.questions, summary.lines, told))
    questions = sum(row.questions for row in boards)
    return QuoteRow(quote, tuple(boards), quote.state(questions), questions)
