"""Part numbers in further columns of a table: alternates, and a second column of the same kind."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.intake.tables.table import Table
from capcheck.lexicon import Concept, vocabulary
from capcheck.model import Decision, Note, Topic, say
from capcheck.values import Place, in_toml


def other_numbers(table: Table, columns: Columns, taken: Sequence[str]) -> list[Note]:
    """Return a note on further columns of makers' part numbers that say another thing in some row.

    A supplier's numbers differ by nature: only columns count that are numbered alike or called alternates.
    """
    at = columns.index.get(Role.PART_NUMBER)
    if at is None:
        return []
    title = table.title(at)
    others = [other for other in _titles_of_other_numbers(table, columns, taken) if _is_alternate(other, title)]
    others += [table.title(other) for other in _alternates(table, columns)]
    if not others:
        return []
    said = say("bom.other numbers", taken=title, others=others)
    return [Note(said, Place(table.file, table.header_row, sheet=table.sheet))]


def _alternates(table: Table, columns: Columns) -> list[int]:
    """Return the columns that no role took, are called alternates, and name something in some row."""
    taken = {*columns.index.values(), *chain.from_iterable(columns.variants.values())}
    return [
        at
        for at, title in enumerate(table.header[: len(table.columns)])
        if at not in taken
        and Concept.ALTERNATE in read_title(title).concepts
        and any(cell.strip(" -") and cell not in vocabulary().answers.no for cell in table.columns[at])
    ]


def number_taken(table: Table, columns: Columns, taken: Sequence[str]) -> list[Decision]:
    """Return which column of numbers is taken, where another that is no supplier's says otherwise in some row."""
    at = columns.index.get(Role.PART_NUMBER)
    if at is None or Role.PART_NUMBER in columns.named:
        return []
    title = table.title(at)
    others = [
        other
        for other in _titles_of_other_numbers(table, columns, taken)
        if Concept.SUPPLIER not in read_title(other).concepts and not _is_alternate(other, title)
    ]
    if not others:
        return []
    return [
        Decision(
            Topic.PART_NUMBER,
            choice=say("bom.number from", title=title),
            evidence=say("bom.numbers beside", titles=others),
            runner_up=say("bom.title", title=others[0]),
            settle=f"[columns.bom] part_number = {in_toml(title)}",
            place=Place(table.file, sheet=table.sheet),
        )
    ]


def _titles_of_other_numbers(table: Table, columns: Columns, taken: Sequence[str]) -> list[str]:
    """Return the titles of the further columns of part numbers that say another thing than is *taken* in some row."""
    return [
        table.title(c)
        for c in columns.variants.get(Role.PART_NUMBER, ())
        if any(
            other and mine and other != mine for other, mine in zip(without_marks(table.columns[c]), taken, strict=True)
        )
    ]


def _is_alternate(title: str, taken: str) -> bool:
    read = read_title(title)
    words = [[w for w in words if not w.isdigit()] for words in (read.words, read_title(taken).words)]
    return "alternate" in read.concepts or words[0] == words[1]


def without_marks(cells: Sequence[str]) -> Sequence[str]:
    """Return cells without the apostrophe by which a spreadsheet marks a number as text."""
    if "'" not in "".join(cells):
        return cells
    return [cell[1:] if cell[:1] == "'" and cell[1:2].isalnum() else cell for cell in cells]
