"""The tables of a store as statements name them; the files of ``steps/`` make them."""

from __future__ import annotations

from typing import Final

from sqlalchemy import BigInteger, Column, Double, MetaData, Table, Text

METADATA: Final = MetaData()


def _table(name: str, *columns: Column[object], numbered: bool = True) -> Table:
    own = [Column("id", BigInteger, primary_key=True)] if numbered else []
    return Table(name, METADATA, *own, *columns)


def _texts(*names: str) -> list[Column[object]]:
    return [Column(name, Text) for name in names]


def _numbers(*names: str) -> list[Column[object]]:
    return [Column(name, BigInteger) for name in names]


CUSTOMER: Final = _table("customer", *_texts("name", "folded"))
BOARD: Final = _table("board", *_numbers("customer_id"), *_texts("name", "folded"))
GIVEN: Final = _table("given", *_texts("who", "at", "source", "place", "link"))
PART: Final = _table(
    "part",
    *_texts("found_by", "key_text", "part_number", "footprint", "value", "reference"),
    *_numbers("customer_id", "board_id"),
    *_texts("standing"),
)
FIGURE: Final = _table(
    "figure",
    *_numbers("part_id"),
    *_texts("field"),
    Column("low", Double),
    Column("high", Double),
    *_texts("unit", "word"),
    *_numbers("given_id"),
    *_texts("superseded_at"),
    *_numbers("superseded_by"),
)
REVISION: Final = _table("revision", *_numbers("board_id"), *_texts("label", "sha256"), *_numbers("given_id"))
REVISION_FILE: Final = _table(
    "revision_file", *_numbers("revision_id"), *_texts("path", "role", "sha256"), numbered=False
)
RESULT: Final = _table(
    "result",
    *_numbers("revision_id"),
    *_texts("line", "verdict", "counts", "program"),
    *_numbers("given_id"),
)
USED_ON: Final = _table(
    "used_on",
    *_numbers("revision_id"),
    *_texts("key_text", "part_number", "footprint", "value", "refs", "stated"),
)
QUESTION: Final = _table(
    "question",
    *_numbers("board_id"),
    *_texts("key", "type", "text", "fingerprint", "refs", "part", "fields", "data"),
    *_numbers("given_id"),
    *_texts("changed_at"),
)
ANSWER: Final = _table(
    "answer",
    *_numbers("question_id"),
    *_texts("text", "goes_to"),
    *_numbers("settles", "given_id"),
)
QUOTE: Final = _table(
    "quote",
    *_texts("folder", "customer", "name"),
    *_numbers("quantity"),
    *_texts("due", "received_at", "waiting_since", "decided_at", "decision"),
)
QUOTE_BOARD: Final = _table("quote_board", *_numbers("quote_id"), *_texts("name", "folder"))
QUOTE_FILE: Final = _table("quote_file", *_numbers("quote_id", "board_id"), *_texts("shown", "path"), *_numbers("size"))
QUOTE_WORK: Final = _table(
    "quote_work",
    *_numbers("quote_id", "board_id"),
    *_texts("kind", "about", "asked_at"),
    *_numbers("tries"),
    *_texts("holder", "held_until", "ended_at", "outcome", "told", "result"),
)
QUOTE_LOG: Final = _table("quote_log", *_numbers("quote_id"), *_texts("who", "at", "what", "about"))
STEP: Final = _table("step", *_numbers("number"), *_texts("at", "program"), numbered=False)
