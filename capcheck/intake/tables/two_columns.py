"""Columns that say the same in most rows and not in all, and columns of offsets: what they say of a row is in question.

``Value`` and ``Comment`` that agree but for one part were one thing once, and nobody knows which of them was changed.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations
from typing import Final

from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.content import is_number
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.intake.tables.table import Table
from capcheck.lexicon import Concept, fold, vocabulary
from capcheck.model import Said, say

_NAMING: Final = (Role.VALUE, Role.PART_NUMBER, Role.FOOTPRINT, Role.COMMENT)
_FEWEST: Final = 5
_MOST: Final = 0.8
"""The share of rows from which two columns hold one thing."""
_SHOWN: Final = 60
_OF_PLACES: Final = frozenset({Concept.X, Concept.Y, Concept.Z, Concept.POSITION, Concept.ROTATION})


def columns_against_each_other(table: Table, columns: Columns) -> dict[int, Said]:
    """Return the rows in which two columns that agree in most rows name two things, with what they say."""
    taken = [at for role in _NAMING if role in columns.index for at in _columns_of(role, columns)]
    found: dict[int, Said] = {}
    letters = {at: list(map(_letters, table.columns[at])) for at in taken} if len(set(taken)) > 1 else {}
    for one, other in combinations(letters, 2):
        pairs = [(i, a, b) for i, (a, b) in enumerate(zip(letters[one], letters[other], strict=True)) if a and b]
        same = sum(a == b for _, a, b in pairs)
        if not _FEWEST <= same < len(pairs) or same < _MOST * len(pairs):
            continue
        for i, a, b in pairs:
            if a not in b and b not in a and i not in found:
                texts = [table.columns[at][i].strip()[:_SHOWN] for at in (one, other)]
                titles = [table.title(one), table.title(other)]
                found[i] = say("tables.columns differ", one=titles[0], text=texts[0], other=titles[1], its=texts[1])
    return found


def _columns_of(role: Role, columns: Columns) -> tuple[int, ...]:
    return (columns.index[role], *columns.variants.get(role, ()))


@lru_cache(maxsize=4096)
def _letters(text: str) -> str:
    return "".join(filter(str.isalnum, fold(text)))


def offsets_asked(table: Table, columns: Columns) -> dict[int, Said]:
    """Return the rows for which a column that nothing takes states by how much their place or angle is off."""
    found: dict[int, Said] = {}
    taken = set(columns.index.values())
    for at, title in enumerate(table.header[: len(table.columns)]):
        if at in taken or not read_title(title).concepts & _OF_PLACES:
            continue
        if vocabulary().remarks.off_itself.search(fold(title)) is None:
            continue
        for i, text in enumerate(table.columns[at]):
            if is_number(text.strip()) and text.strip("+-0., "):
                found.setdefault(i, say("tables.offset", title=title, text=text.strip()[:_SHOWN]))
    return found
