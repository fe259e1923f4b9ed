"""The package tables that ship in ``packages/data``: read once, each row converted into a record of its own type.

In a CSV table an empty cell takes the field's default, semicolons part the entries of a list, and two dots part the
ends of an interval: ``0.55..0.65``; ``..1.6`` is at most 1.6.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import UnionType
from typing import Any, Final, TypeVar, cast, get_args, get_origin

from msgspec import Struct, ValidationError, convert
from msgspec.structs import fields

from capcheck.values import Interval, own_table

DATA: Final = Path(__file__).parents[1] / "data"
Row = TypeVar("Row", bound=Struct)


def rows_of(name: str, row: type[Row]) -> tuple[Row, ...]:
    """Return the rows of ``data/<name>.csv`` as records, read once.

    Raises ValueError with file and line for a cell that is not of its field's type, such as a misspelt lead style.
    """
    return cast("tuple[Row, ...]", _rows(name, row))


@cache
def _rows(name: str, row: type[Struct]) -> tuple[Struct, ...]:
    return rows_in((DATA / f"{name}.csv").read_text(encoding="utf-8"), row, f"{name}.csv")


def rows_in(text: str, row: type[Row], where: str, **same: object) -> tuple[Row, ...]:
    """Return the rows of a CSV table as records; *same* are fields that all of them share.

    Raises ValueError with *where* and the line for a cell that is not of its field's type.
    """
    lists, intervals = _lists_and_intervals(row)
    found = []
    reader = csv.reader(text.splitlines())
    titles = next(reader, [])
    for cells in reader:
        values: dict[str, Any] = {title: cell for title, cell in zip(titles, cells, strict=True) if cell} | same
        for title in lists & values.keys():
            values[title] = values[title].split(";")
        for title in intervals & values.keys():
            low, _, high = values[title].partition("..")
            values[title] = {"low": low or "0", "high": high}
        found.append(converted(values, row, f"{where}:{reader.line_num}"))
    return tuple(found)


@cache  # working out the types of a record's fields takes longer than reading a table of it
def _lists_and_intervals(row: type[Struct]) -> tuple[frozenset[str], frozenset[str]]:
    types = {f.name: f.type for f in fields(row)}
    lists = frozenset(name for name, type_ in types.items() if get_origin(type_) in {tuple, frozenset})
    return lists, frozenset(name for name, type_ in types.items() if Interval in _alternatives(type_))


@cache
def part_words() -> Mapping[str, Mapping[str, tuple[str, ...]]]:
    """Return the words of ``data/part_words.toml`` by section and meaning."""
    words: Mapping[str, Mapping[str, tuple[str, ...]]] = convert(
        own_table(DATA / "part_words.toml"), dict[str, dict[str, tuple[str, ...]]]
    )
    return words


def meanings(section: str) -> dict[str, str]:
    """Return the meaning of each word of a section of ``data/part_words.toml``."""
    return {word: meaning for meaning, words in part_words()[section].items() for word in words}


def converted(values: Mapping[str, object], record: type[Row], where: str) -> Row:
    """Return *values* as a record. Raises ValueError that names *where* and the field."""
    try:
        return convert(values, record, strict=False)
    except ValidationError as error:
        raise ValueError(f"packages/data/{where}: {error}") from error


def _alternatives(annotation: object) -> tuple[object, ...]:
    return get_args(annotation) if isinstance(annotation, UnionType) else (annotation,)
