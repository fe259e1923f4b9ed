"""On which side of the board the rows of a list of parts say that theirs lie: in a column of sides, or in a remark."""

from __future__ import annotations

from typing import Final

from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.conditional import columns_of_texts
from capcheck.intake.tables.grouping import code
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.intake.tables.side_words import named_sides
from capcheck.intake.tables.sides import read_side_labels
from capcheck.intake.tables.table import Table
from capcheck.lexicon import Concept, fold, vocabulary
from capcheck.model import Side
from capcheck.values import pattern

_NAMING: Final = frozenset({Role.VALUE, Role.DESCRIPTION, Role.PART_NUMBER})
"""Columns that name the part: comments beside them are remarks."""
_LONGEST: Final = 40
"""What is longer speaks of more than where its part lies."""
_NO_SIDE: Final = pattern(lambda: str(vocabulary().sides.of_the_part))
"""Words beside which top and bottom are those of the part: a socket of top entry, the view from the top."""


def sides_told(table: Table, columns: Columns) -> dict[int, Side]:
    """Return the rows that name one side, by their index."""
    found: dict[int, Side] = {}
    remarks = {at for at, is_remark in columns_of_texts(table, columns).items() if is_remark}
    if Role.COMMENT in columns.index and not _NAMING.isdisjoint(columns.index):
        remarks.add(columns.index[Role.COMMENT])
    taken = {at for role, at in columns.index.items() if role is not Role.SIDE}
    for at, cells in enumerate(table.columns):
        is_side = at not in taken and Concept.SIDE in read_title(table.title(at)).concepts
        if not is_side and at not in remarks:
            continue
        numbers, texts = code(cells)
        labels = read_side_labels(texts) if is_side else {text: _named(text) for text in texts}
        for i, k in enumerate(numbers.tolist()):
            if (side := labels.get(texts[k])) in {Side.TOP, Side.BOTTOM}:
                found.setdefault(i, side)
    return found


def _named(text: str) -> Side | None:
    folded = fold(text)
    if len(folded) > _LONGEST or _NO_SIDE.search(folded):
        return None
    sides = named_sides(folded)
    return next(iter(sides)) if len(sides) == 1 else None
