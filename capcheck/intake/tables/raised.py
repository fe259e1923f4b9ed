"""Texts by which a part reaches higher than itself: a heat sink on it, a spacer under it, a length in a remark.

*Add 8 mm spacer* in a remark, *amplifier with heat sink* in a description: what such a part measures with it, no size
of the part alone proves.
"""

from __future__ import annotations

from typing import Final

from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.conditional import comments_are_remarks
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.intake.tables.size_cell import states_size
from capcheck.intake.tables.table import Table
from capcheck.lexicon import Concept, fold, vocabulary
from capcheck.values import pattern

_LENGTH: Final = pattern(r"(?<![\w.,])\d{1,3}(?:[.,]\d{1,3})?\s?(?:mm|cm|inch|in|\")(?![^\W\d_]|²|2|³|3|/)")
_NO_HEIGHT: Final = pattern(
    lambda: rf"{vocabulary().titles[Concept.PITCH]}|{vocabulary().titles[Concept.PACKING]}|{vocabulary().features.hole}"
)
"""Words beside a length that is none of the part: a tape's, a hole's, a pitch."""
_LONGEST: Final = 300
_NAMING: Final = (Role.VALUE, Role.DESCRIPTION)


def columns_of_raised(table: Table, columns: Columns) -> dict[int, bool]:
    """Return the columns of which some text says so, and whether they hold remarks and not what the parts are."""
    found = {columns.index[role]: False for role in _NAMING if role in columns.index}
    taken = {*columns.index.values(), *(at for same in columns.variants.values() for at in same)}
    for at in range(len(table.columns)):
        title = table.title(at) if at < len(table.header) else ""
        if at in taken:
            continue
        if not title.strip() or Concept.COMMENT in read_title(title).concepts or _is_titled(title):
            found[at] = True
    comments = columns.index.get(Role.COMMENT)
    if comments is not None:
        found[comments] = comments_are_remarks(table, columns)
    return {
        at: remarks
        for at, remarks in found.items()
        if any(raises(text, remark=remarks, title=table.title(at)) for text in dict.fromkeys(table.columns[at]))
    }


def _is_titled(title: str) -> bool:
    """Whether the title of a column names what reaches higher: ``Heatsink``."""
    return vocabulary().remarks.raised.search(fold(title[:_LONGEST])) is not None


def raises(text: str, *, remark: bool, title: str = "") -> bool:
    """Whether a text says that its part reaches higher than the part alone; *remark* where it is a remark on it.

    A height that is written out is read elsewhere, and counts as it is stated. Below a *title* that names what reaches
    higher, ``Heatsink``, every word does that does not deny it.
    """
    if remark and title and _is_titled(title):
        answers = vocabulary().answers
        denied = any(text in words for words in (answers.no, answers.no_marks, answers.unstated))
        return (
            any(map(str.isalpha, text)) and not denied and not vocabulary().remarks.apart.search(fold(text[:_LONGEST]))
        )
    if not text or not any(map(str.isalpha, text)) or states_size(text):
        return False
    folded, words = fold(text[:_LONGEST]), vocabulary().remarks
    if words.apart.search(folded):
        return False
    if remark and (words.raised.search(folded) or words.standing.search(folded)):
        return True
    if not remark:
        return words.raised.search(folded) is not None and _is_joined(folded)
    return _LENGTH.search(folded) is not None and not _NO_HEIGHT.search(folded)


def _is_joined(folded: str) -> bool:
    """Whether a text names a part before what is put on it, which is joined to it by a word or has a length.

    A heat sink itself begins with its name.
    """
    words = vocabulary().remarks
    rest = folded[: found.start()] if (found := words.raised.search(folded)) else ""
    behind = folded[found.end() :] if found else ""
    if not rest.strip(" ,;:+-"):
        return False
    return (
        "+" in rest
        or _LENGTH.search(folded) is not None
        or words.joined.search(rest) is not None
        or words.joined.search(behind) is not None
    )
