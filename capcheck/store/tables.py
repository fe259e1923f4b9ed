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
STEP: Final = _table("step", *_numbers("number"), *_texts("at", "program"), numbered=False)
