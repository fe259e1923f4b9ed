"""What a folder's further files say of references: texts, and tables that are neither placements nor a BOM."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from itertools import chain
from pathlib import Path
from typing import Final

from capcheck.intake.compare import begins_provisional
from capcheck.intake.files import Decoded, leads_inside, open_file
from capcheck.intake.tables import (
    REFERENCE,
    Recognised,
    is_about_data,
    listed_count,
    speaks_of_all,
    speaks_of_panel,
    unit_in_line,
)
from capcheck.intake.told_of_board import speaks_of_board
from capcheck.model import SetAside, say
from capcheck.values import InputError, Place

_MOST_BYTES: Final = 64_000
_MOST_LINES: Final = 2000
_LONGEST: Final = 200
_HEAD: Final = 4096
_TEXTS: Final = frozenset((".txt", ".md", ".text", ".me", ""))
_MOST_TEXTS: Final = 50
_OF_WORDS: Final = frozenset(("spaces", "fixed width", "comma"))
"""What stands between the words of sentences, and may be taken for the columns of a table."""


def said_beside(unused: Mapping[Path, Sequence[Recognised]], texts: Sequence[Path]) -> tuple[SetAside, ...]:
    """Return the rows that name a reference, in tables not used and in *texts*, or say something of the data.

    That is how they are to be read, what the board measures, how many parts there are; of texts, those that were taken
    for tables too, also in what unit, or that nothing is to be built from them yet.
    """
    prose = [file for file, tables in unused.items() if _is_prose(file, tables)]
    tabled = (
        SetAside(row.place, say("find.beside the lists"), row.text)
        for table in chain.from_iterable(tables for file, tables in unused.items() if file not in prose)
        for row in (*table.table.set_aside, *table.table.left_out(say("find.beside the lists")))
    )
    lines = (
        row
        for row in chain.from_iterable(map(_lines, (*prose, *texts)))
        if _says_something(row.text) or unit_in_line(row.text) is not None or begins_provisional(row.text)
    )
    return (*(row for row in tabled if _says_something(row.text)), *lines)


def _is_prose(file: Path, tables: Sequence[Recognised]) -> bool:
    """Whether what a text holds was parted at blanks and commas into tables of nothing: it is lines of words."""
    return file.suffix.lower() in _TEXTS and not any(
        table.score("placements") or table.score("bom") or table.table.delimiter not in _OF_WORDS for table in tables
    )


def _says_something(text: str) -> bool:
    return bool(
        REFERENCE.search(text)
        or is_about_data(text)
        or speaks_of_all(text)
        or speaks_of_panel(text)
        or speaks_of_board(text)
        or listed_count(text) is not None
    )


def texts_beside(folder: Path, named: Container[Path]) -> tuple[SetAside, ...]:
    """Return the same of the texts of a *folder* whose board.toml names the lists; of a list not named, nothing."""
    try:
        texts = [file for file in sorted(folder.iterdir()) if file.suffix.lower() in _TEXTS and file not in named]
    except OSError:
        return ()  # a file that is named will say so
    return said_beside({}, [file for file in texts[:_MOST_TEXTS] if leads_inside(file, folder) and file.is_file()])


def _lines(file: Path) -> Iterator[SetAside]:
    """Yield the lines of a short text; nothing of another file, or of one that cannot be read.

    Comments in a layer or a drill program are of the program that wrote it: nobody says anything by them.
    """
    from capcheck.intake.drills import begins_as_program
    from capcheck.intake.layers import is_gerber

    try:
        if file.stat().st_size > _MOST_BYTES:
            return
        opened = open_file(str(file))
    except (InputError, OSError):
        return
    if isinstance(opened, Decoded):
        head = opened.text[:_HEAD].encode()
        if begins_as_program(head) or is_gerber(head):
            return
        for row, line in enumerate(opened.text.split("\n")[:_MOST_LINES], 1):
            yield SetAside(Place(str(file), row), say("find.beside the lists"), " ".join(line[:_LONGEST].split()))
