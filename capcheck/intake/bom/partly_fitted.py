"""References of one line that stay off the board while its others are fitted: ``C140, C141, NF(C142, C143)``.

Such a remark stands among the references, or in a text of the line that names some of them.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Container, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from capcheck.intake.tables import Columns, Role, expand_references, is_turned, not_fitted_words
from capcheck.lexicon import fold, vocabulary
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.intake.tables import Table

_TEXTS: Final = (Role.VALUE, Role.COMMENT, Role.DESCRIPTION)
_BEFORE: Final = r"(?<![0-9a-z])"
_BEHIND: Final = r"(?![0-9a-z])"
_REF: Final = r"[a-z]{1,4}[0-9]{1,5}[a-z]?(?:[_.][0-9a-z]{1,4})?"


def _any(*, labels: bool) -> str:
    return f"{_BEFORE}{not_fitted_words(labels=labels)}{_BEHIND}"


_MARK: Final = pattern(lambda: _any(labels=True))
_AMONG_REFERENCES: Final = (
    # before a list in brackets, as in NF(C142, C143)
    pattern(lambda: rf"{_any(labels=True)}\s{{0,3}}[:=-]?\s{{0,3}}[(\[{{](?P<refs>[^()\[\]{{}}]*)[)\]}}]"),
    # behind one reference or a range, as in C142 (DNP)
    pattern(lambda: rf"(?P<refs>{_REF}(?:\s?(?:-|\.\.)\s?{_REF})?)\s{{0,3}}[(\[{{]\s?{_any(labels=True)}\s?[)\]}}]"),
    # before a list that ends with a semicolon or a line
    pattern(lambda: rf"{_any(labels=True)}\s{{0,3}}[:=]\s{{0,3}}(?P<refs>[^;\n|]*)"),
    # before the whole list of a line
    pattern(lambda: rf"(?:\A|(?<=[;\n|])\s{{0,3}}){_any(labels=True)}\s{{1,3}}(?P<refs>[^;\n|]+)"),
    # behind one reference without brackets
    pattern(lambda: rf"(?P<refs>{_REF})(?:\s{{1,3}}|/){_any(labels=True)}"),
)
_IN_BRACKETS: Final = _AMONG_REFERENCES[0]
_WORD: Final = pattern(lambda: _any(labels=False))
_ONE: Final = pattern(rf"{_BEFORE}{_REF}{_BEHIND}")
_BETWEEN: Final = pattern(lambda: rf"[\s,;/&+]*(?:{_JOINTS}\s*)?")
_JOINTS: Final = r"(?:-|–|\.{2,3}|…|and|und|et|y|e|bis|to)"
_TO_THE_WORD: Final = pattern(r"[\s:=,(\[-]{0,3}(?:(?:is|are|sind|ist)\s)?\s{0,3}")
_FROM_THE_WORD: Final = pattern(r"\s{0,3}[:=-]?\s{0,3}")
_LONGEST_GAP: Final = 12


def off_among_references(text: str, known: Container[str]) -> tuple[str, list[str]]:
    """Return a cell of references without those that it marks as not fitted, and those."""
    if text in known or not _bears_mark(fold(text)):
        return text, []
    off: list[str] = []
    # A fold that changes a text's length names no place in it; references are plain letters and numbers.
    bare = text if len(fold(text)) == len(text) else fold(text).upper()
    for form in _AMONG_REFERENCES:
        kept, last = [], 0
        for match in form.finditer(fold(bare)):
            start, end = match.span("refs")
            found, _ = expand_references(bare[start:end], known)
            if found and all(any(map(str.isdigit, ref)) for ref in found):
                off += found
                kept.append(bare[last : match.start()])
                last = match.end()
        if last:
            bare = " , ".join([*kept, bare[last:]])
    return (bare, off) if off else (text, [])


def off_in_texts(table: Table, columns: Columns) -> list[Sequence[str]]:
    """Return the columns of texts in which a remark may take some references of a line off the board."""
    texts = [table.columns[columns.index[role]] for role in _TEXTS if role in columns.index]
    return [column for column in texts if any(_bears_mark(fold(text)) for text in dict.fromkeys(column))]


def _bears_mark(folded: str) -> bool:
    """Whether a folded text says not fitted of something: asked of its letters first, as few texts have those."""
    fitted = vocabulary().fitted
    may = fitted.not_fitted.may_stand_in(folded) or fitted.not_fitted_labels.may_stand_in(folded)
    return may and _MARK.search(folded) is not None


def off_by_text(text: str, own: Sequence[str]) -> list[str]:
    """Return those of a line's *own* references that a text takes off the board; none where it takes all, or none."""
    folded = fold(text)
    if not _bears_mark(folded) or is_turned(folded):
        return []
    spelt = {fold(ref): ref for ref in own}
    listed = [match["refs"] for match in _IN_BRACKETS.finditer(folded)]
    runs = list(_runs(folded))
    ends, starts = [end for _, end in runs], [start for start, _ in runs]
    for word in _WORD.finditer(folded) if runs else ():
        before, behind = bisect_right(ends, word.start()) - 1, bisect_left(starts, word.end())
        if before >= 0 and _TO_THE_WORD.fullmatch(folded, ends[before], word.start()):
            listed.append(folded[slice(*runs[before])])
        elif behind < len(runs) and _FROM_THE_WORD.fullmatch(folded, word.end(), starts[behind]):
            listed.append(folded[slice(*runs[behind])])
    found = [spelt[fold(ref)] for text in listed for ref in expand_references(text.upper())[0] if fold(ref) in spelt]
    return [] if len(set(found)) == len(spelt) else list(dict.fromkeys(found))


def _runs(folded: str) -> Iterator[tuple[int, int]]:
    """Yield where each list of references begins and ends: ``r9, r10`` and ``r9 and r10``."""
    start = end = -1
    for match in _ONE.finditer(folded):
        if end >= 0 and match.start() - end <= _LONGEST_GAP and _BETWEEN.fullmatch(folded, end, match.start()):
            end = match.end()
            continue
        if end >= 0:
            yield start, end
        start, end = match.span()
    if end >= 0:
        yield start, end
