"""Columns that no role took and that may say which parts are fitted: marks on some rows, words on a few."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import chain
from typing import Final

from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.fitted import (
    ambiguous_nc,
    cell_says_fitted,
    choose_variant,
    is_negative_title,
    names_variant,
    says_not_fitted,
    says_something_else,
)
from capcheck.intake.tables.grouping import code
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.intake.tables.in_doubt import is_in_doubt
from capcheck.intake.tables.table import Table
from capcheck.lexicon import Concept, fold, vocabulary
from capcheck.model import Said, say
from capcheck.values import pattern

_QUESTIONED: Final = pattern(lambda: f"(?<![^\\W_]){vocabulary().fitted.questioned}(?![^\\W_])")
_ABOUT_FITTING: Final = frozenset(
    {
        Concept.FITTED,
        Concept.NOT_FITTED,
        Concept.ASSEMBLY,
        Concept.NOT,
        Concept.MOUNTING,
        Concept.TYPE,
        Concept.POSITION,
        Concept.PART,
        Concept.NUMBER,
    }
)
"""What a title may stand for and still ask whether a part is fitted; any other makes the column something else."""
_BUILD: Final = pattern(lambda: rf"(?:{vocabulary().fitted.builds})[\s._-]{{0,2}}[\w.]{{1,3}}")
"""The title of one of several builds, as ``Version 1``."""
_LONGEST: Final = 60


def columns_asked(table: Table, columns: Columns, variant: str | None = None) -> dict[int, Said]:
    """Return the rows in which a column that may tell what is fitted says another thing than in most, with why.

    Where *variant* names a column, that says what is fitted, and those of other variants say nothing of this one.
    """
    found: dict[int, Said] = {}
    named = choose_variant(table, range(len(table.header)), variant)
    for at in _open_columns(table, columns):
        if named not in {None, at} and names_variant(fold(table.title(at))):
            continue
        numbers, texts = code(table.columns[at])
        is_fitted = at == (columns.index.get(Role.FITTED) if named is None else named)
        asked = _differing(texts, numbers.tolist(), table.title(at), is_fitted=is_fitted)
        for i, k in enumerate(numbers.tolist()):
            if k in asked and i not in found:
                key = "tables.column says" if texts[k].strip() else "tables.column blank"
                found[i] = say(key, title=table.title(at), text=texts[k].strip()[:_LONGEST])
    for at in _without_title(table, columns):
        for i, text in enumerate(table.columns[at]):
            if i not in found and _is_questioned(text):
                found[i] = say("tables.column says", title=f"column {at + 1}", text=text.strip()[:_LONGEST])
    return found


def _without_title(table: Table, columns: Columns) -> list[int]:
    """Return the columns that have neither a title nor a role."""
    taken = {*columns.index.values(), *chain.from_iterable(columns.variants.values())}
    return [
        at
        for at in range(len(table.columns))
        if at not in taken and not (at < len(table.header) and table.header[at].strip())
    ]


def _open_columns(table: Table, columns: Columns) -> Iterator[int]:
    every = {role: {at, *columns.variants.get(role, ())} for role, at in columns.index.items()}
    taken = set(chain.from_iterable(every[role] for role in every if role not in {Role.MOUNTING, Role.FITTED}))
    for at, title in enumerate(table.header[: len(table.columns)]):
        # A short form such as RoHS is a word of its own, whatever capitals stand in it.
        meant = read_title(title).concepts | read_title(fold(title)).concepts
        if at not in taken and title.strip() and (meant <= _ABOUT_FITTING or _BUILD.fullmatch(fold(title).strip())):
            yield at


def _differing(texts: Sequence[str], rows: Sequence[int], title: str, *, is_fitted: bool) -> set[int]:
    """Return which of the *texts* of a column set their rows apart from the most of them."""
    kinds = [_kind(text) for text in texts]
    if is_fitted:
        # What its cells say is read; blank is open where every other cell says fitted.
        negative = is_negative_title(title)
        alone = not negative and set(kinds) == {"", "yes"}
        verdicts = [cell_says_fitted(text, negative=negative) for text in texts]
        # Where the column says something else in most rows, it is asked about as a whole.
        unclear = set() if says_something_else(verdicts, rows) else {k for k, v in enumerate(verdicts) if v is None}
        return {k for k, kind in enumerate(kinds) if k in unclear or is_in_doubt(texts[k]) or (alone and not kind)}
    if title in vocabulary().mountings.surface and set(kinds) == {"yes", "no"}:
        return set()  # An answer for every row says how each part is mounted, and of none that it stays off.
    if names_variant(fold(title)):
        kinds = [kind or fold(text.strip()) for kind, text in zip(kinds, texts, strict=True)]
    if None not in kinds:
        most = Counter(kinds[k] for k in rows).most_common(1)
        return {k for k, kind in enumerate(kinds) if most and kind != most[0][0]}
    return {k for k, text in enumerate(texts) if _is_questioned(text)}


def _kind(text: str) -> str | None:
    """Return what a cell answers: yes, no, nothing; None for a text that is no answer."""
    words, answers = vocabulary().fitted, vocabulary().answers
    text = text.strip()
    if not text:
        return ""
    if any(text in said for said in (answers.yes, answers.yes_marks, words.fitted, words.fitted_labels)):
        return "yes"
    if any(text in said for said in (answers.no, answers.no_marks)) or says_not_fitted(text) or ambiguous_nc([text]):
        return "no"
    return None


def _is_questioned(text: str) -> bool:
    if not 0 < len(text) <= _LONGEST:
        return False
    return says_not_fitted(text) or _QUESTIONED.search(fold(text)) is not None
