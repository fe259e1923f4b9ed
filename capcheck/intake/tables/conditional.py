"""Texts that make the part of their row an option: *option B only*, *if needed*, *entfällt*, ``~~struck out~~``."""

from __future__ import annotations

import re
from collections.abc import Container, Sequence
from typing import Final

from capcheck.intake.tables.about_all import speaks_of_all
from capcheck.intake.tables.about_data import turns_its_sense
from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.fitted import ambiguous_nc, says_not_fitted
from capcheck.intake.tables.grouping import code
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.intake.tables.in_doubt import is_in_doubt
from capcheck.intake.tables.named_parts import REFERENCE
from capcheck.intake.tables.provided_rows import says_provided
from capcheck.intake.tables.table import Table
from capcheck.lexicon import Concept, fold, vocabulary
from capcheck.model import Note, Said, say
from capcheck.values import pattern

_NAMES: Final = (Role.FOOTPRINT, Role.PART_NUMBER)
"""Where a part is named: what is in doubt there is which part it is."""
_SAYING: Final = (Role.VALUE, Role.DESCRIPTION, Role.COMMENT, *_NAMES)
_STRUCK: Final = pattern(r"~~[^~]{1,200}~~|<(?:s|del|strike)>")
_CONDITION: Final = pattern(lambda: str(vocabulary().fitted.conditional))
_ONLY: Final = pattern(
    lambda: (
        rf"{vocabulary().fitted.only}.{{0,20}}{_variants()}"
        rf"|{_variants()}\s*(?:[\w.]{{1,4}}(?:\W{{1,3}}[\w.]{{1,4}}){{0,3}})?\s*{vocabulary().fitted.only}"
    )
)
_STATUS: Final = pattern(lambda: rf"\W*(?:{vocabulary().fitted.questioned}|{_variants()})(?:\W{{1,3}}[\w.]{{1,2}})?\W*")
"""A remark of its own, with at most the letter of a variant behind it."""
_BETWEEN: Final = pattern(r"[,;|\n]|\s[-–—]\s")
_LAST_WORD: Final = pattern(r".*[^\W\d_] ?[_/|(\[<,;*] ?([a-z]{2,4})", re.IGNORECASE | re.DOTALL)
"""The word that a text of several ends in; a digit before it may be that of a quantity, and it the unit."""
_IN_BRACKETS: Final = pattern(r"[(\[{]([^()\[\]{}]{1,60})[)\]}]")
_PLAIN: Final = pattern(
    lambda: (
        rf"(?<![^\W_])(?:{vocabulary().remarks.sorts}|{vocabulary().remarks.classes}|{vocabulary().remarks.plain}"
        rf"|{vocabulary().answers.unstated}|[xyznc]\d[a-z]|[1-9]\d{{0,3}}[rkmunp]\d{{0,2}}"
        r"|\d{1,4}(?:[.,]\d{1,3})?\s?(?:%|[mk]?[vwa]|[mk]?ohms?|[munp][fh]|ppm|° ?c))(?![^\W_])"
    )
)
"""What a part is or complies with; ``x7r`` is the code of a ceramic (common practice, no source)."""
_WORD: Final = pattern(r"[^\W_]")
_LONGEST: Final = 300
_SHOWN: Final = 80
_LONGEST_NO: Final = 8


def _variants() -> str:
    fitted = vocabulary().fitted
    return f"(?:{fitted.variants}|{fitted.builds})"


def conditional_rows(table: Table, columns: Columns) -> dict[int, Said]:
    """Return the rows of which a text says that their part is fitted in some cases only, with why."""
    found: dict[int, Said] = {}
    names = package, numbered = tuple(columns.index.get(role) for role in _NAMES)
    for at, remarks in columns_of_texts(table, columns).items():
        numbers, texts = code(table.columns[at])
        denied = {k for k, text in enumerate(texts) if _is_no(text)}
        if 2 * sum(k in denied for k in numbers.tolist()) >= len(numbers):
            denied = set()  # It answers a question that the title does not tell.
        asked = denied | {
            k
            for k, text in enumerate(texts)
            if (text and _is_conditional(text[:_LONGEST], remarks=remarks))
            or (at in names and text.strip(" -?") and len(text) <= _SHOWN and is_in_doubt(text))
            or (at != numbered and _ends_in_not_fitted(text[:_LONGEST]))
            or (at == package and says_not_fitted(text[:_LONGEST]))
        }
        for i, k in enumerate(numbers.tolist()) if asked else ():
            if k in asked and i not in found:
                found[i] = say("tables.conditional", text=texts[k].strip()[:_SHOWN])
        if remarks:
            _add_naming_parts(found, numbers.tolist(), texts, columns.references(table))
    return found


def _add_naming_parts(found: dict[int, Said], rows: Sequence[int], texts: Sequence[str], listed: Sequence[str]) -> None:
    """Add the rows whose remark names a listed part, its own or another: *except C3*, *see U5*, *NF(C142)*."""
    naming = {k: REFERENCE.findall(text[:_LONGEST]) for k, text in enumerate(texts) if any(map(str.isdigit, text))}
    if not any(naming.values()):
        return
    known = set(REFERENCE.findall(" ".join(listed)))
    for i, k in enumerate(rows):
        if i not in found and known.intersection(naming.get(k, ())):
            found[i] = say("tables.remark names parts", text=texts[k].strip()[:_SHOWN])


def remarks_asked(table: Table, columns: Columns, asked: Container[int]) -> tuple[dict[int, Said], list[Note]]:
    """Return the rows of which a remark says something that nothing is made of, by their index, with it; and notes.

    What only says which sort of part it is, such as *X7R* or *RoHS*, asks nothing, and of a column that is filled in
    most rows there is one note for all of them, which a bill of materials asks about. *asked* are the rows about which
    something is asked already.
    """
    found: dict[int, Said] = {}
    notes = []
    for at, remarks in columns_of_texts(table, columns).items():
        if not remarks:
            continue
        numbers, texts = code(table.columns[at])
        telling = {k for k, text in enumerate(texts) if _is_telling(text)}
        rows = [i for i, k in enumerate(numbers.tolist()) if k in telling and i not in asked]
        rows = [i for i in rows if not _stands_beside(table, i, at)]
        said = {i: " ".join(table.columns[at][i].split())[:_SHOWN] for i in rows}
        if rows and 2 * sum(bool(texts[k].strip()) for k in numbers.tolist()) > len(numbers):
            told = say("tables.remarks not read", title=table.title(at), texts=list(dict.fromkeys(said.values())))
            notes.append(Note(told, table.place(table.row_numbers[rows[0]])))
        else:
            every = {text: say("tables.remark not read", title=table.title(at), text=text) for text in said.values()}
            found = {i: every[text] for i, text in said.items()} | found
    return found, notes


def _is_telling(text: str) -> bool:
    beside = ", ".join(piece for piece in _BETWEEN.split(text[:_LONGEST]) if not says_provided(piece))
    return _WORD.search(words_beside_what_it_is(beside)) is not None and not says_not_fitted(text)


def _stands_beside(table: Table, row: int, at: int) -> bool:
    """Whether another cell of a row says what the one in column *at* says."""
    text = fold(table.columns[at][row]).strip()
    return any(other != at and text == fold(cells[row]).strip() for other, cells in enumerate(table.columns))


def words_beside_what_it_is(text: str) -> str:
    """Return a folded text without the sorts, values, materials and standards that only say which part it is."""
    return _PLAIN.sub(" ", fold(text[:_LONGEST]))


def columns_of_texts(table: Table, columns: Columns) -> dict[int, bool]:
    """Return the columns in which a row may say so, and which of them hold remarks on the row."""
    found = {columns.index[role]: False for role in _SAYING if role in columns.index}
    numbers = columns.index.get(Role.PART_NUMBER)
    taken = {*columns.index.values()} - {numbers}
    for at, title in enumerate(table.header[: len(table.columns)]):
        meant = frozenset() if at in taken else read_title(title).concepts
        # Beside part numbers, alternates are asked about as a column; alone they are remarks on each part.
        alone = numbers in {None, at} and Concept.ALTERNATE in meant
        if alone or (at != numbers and Concept.COMMENT in meant):
            found[at] = True
    comments = columns.index.get(Role.COMMENT)
    if comments is not None:
        found[comments] = comments_are_remarks(table, columns)
    return found


def comments_are_remarks(table: Table, columns: Columns) -> bool:
    """Whether the comments say something of the parts; where no column holds values, they may be what parts are called.

    That they are below "Comment", and below any title where no other column names the part.
    """
    if Role.VALUE in columns.index:
        return True
    named = Role.PART_NUMBER in columns.index or Role.DESCRIPTION in columns.index
    return named and _COMMENT.search(fold(table.title(columns.index[Role.COMMENT]))) is None


_COMMENT: Final = pattern("[ck]omm?ent")


def _is_no(text: str) -> bool:
    """Whether a text where a part is named or described is no more than a no: ``nein``, ``non``."""
    return 1 < len(text) <= _LONGEST_NO and text in vocabulary().answers.no


def _ends_in_not_fitted(text: str) -> bool:
    """Whether a name ends in a word that alone says not fitted, while the whole is not read so: *8 bit (NF)*.

    Behind a digit the word may be a unit: *100 nF*.
    """
    match = _LAST_WORD.fullmatch(text.rstrip(" )]>"))
    return match is not None and says_not_fitted(match[1]) and not says_not_fitted(text)


def _is_conditional(text: str, *, remarks: bool) -> bool:
    if remarks and len(text) <= _SHOWN and (is_in_doubt(text) or not text.strip(" ?") or ambiguous_nc([text])):
        return True
    if not any(map(str.isalpha, text)):
        return False
    if _STRUCK.search(text):
        return True
    folded, words = fold(text), vocabulary().fitted
    if remarks and (speaks_of_all(text) or turns_its_sense(folded)):
        return True
    if words.conditional.may_stand_in(folded) and _CONDITION.search(folded):
        return True
    if words.only.may_stand_in(folded) and _ONLY.search(folded):
        return True
    status = words.questioned.may_stand_in(folded) or words.variants.may_stand_in(folded)
    if not status:
        return False
    # A remark on who provides a part is a question of its own, and says nothing of whether it is fitted.
    pieces = (*_BETWEEN.split(folded), *_IN_BRACKETS.findall(folded))
    return any(_STATUS.fullmatch(piece) and not (remarks and says_provided(piece)) for piece in pieces)
