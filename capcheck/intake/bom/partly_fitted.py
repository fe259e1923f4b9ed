"""References of one line that stay off the board while its others are fitted: ``C140, C141, NF(C142, C143)``.

Such a remark stands among the references, or in a text of the line that names some of them.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from typing import TYPE_CHECKING, Final

from capcheck.intake.tables import Columns, Role, expand_references, not_fitted_words
from capcheck.lexicon import fold
from capcheck.values import pattern

if TYPE_CHECKING:
    import re

    from capcheck.intake.tables import Table

_TEXTS: Final = (Role.VALUE, Role.COMMENT, Role.DESCRIPTION)
_BEFORE: Final = r"(?<![0-9a-z])"
_BEHIND: Final = r"(?![0-9a-z])"
_REF: Final = r"[a-z]{1,4}[0-9]{1,5}[a-z]?(?:[_.][0-9a-z]{1,4})?"
_LIST: Final = rf"{_REF}(?:[\s,;/&+]{{0,3}}(?:-|–|\.\.\.?|…|and|und|et|y|e|bis|to)?[\s,;/&+]{{0,3}}{_REF}){{0,200}}"


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
_IN_A_TEXT: Final = (
    pattern(lambda: rf"{_any(labels=True)}\s{{0,3}}[:=-]?\s{{0,3}}[(\[{{](?P<refs>[^()\[\]{{}}]*)[)\]}}]"),
    pattern(lambda: rf"{_any(labels=False)}\s{{0,3}}[:=-]?\s{{0,3}}(?P<refs>{_LIST})"),
    pattern(lambda: rf"{_BEFORE}(?P<refs>{_LIST})[\s:=,(\[-]{{0,3}}(?:is|are|sind|ist)?\s{{0,3}}{_any(labels=False)}"),
)


def off_among_references(text: str, known: Container[str]) -> tuple[str, list[str]]:
    """Return a cell of references without those that it marks as not fitted, and those."""
    if text in known or _MARK.search(fold(text)) is None:
        return text, []
    off: list[str] = []
    # A fold that changes a text's length names no place in it; references are plain letters and numbers.
    bare = text if len(fold(text)) == len(text) else fold(text).upper()
    for form in _AMONG_REFERENCES:
        while match := form.search(fold(bare)):
            start, end = match.span("refs")
            found, _ = expand_references(bare[start:end], known)
            if not found or not all(any(map(str.isdigit, ref)) for ref in found):
                break
            off += found
            bare = f"{bare[: match.start()]} , {bare[match.end() :]}"
    return (bare, off) if off else (text, [])


def off_in_texts(table: Table, columns: Columns) -> list[Sequence[str]]:
    """Return the columns of texts in which a remark may take some references of a line off the board."""
    texts = [table.columns[columns.index[role]] for role in _TEXTS if role in columns.index]
    return [column for column in texts if _MARK.search(fold("\n".join(column))) is not None]


def off_by_text(text: str, own: Sequence[str]) -> list[str]:
    """Return those of a line's *own* references that a text takes off the board; none where it takes all, or none."""
    folded = fold(text)
    if _MARK.search(folded) is None:
        return []
    spelt = {fold(ref): ref for ref in own}
    found: dict[str, None] = {}
    for form in _IN_A_TEXT:
        for match in form.finditer(folded):
            found.update(dict.fromkeys(_named(match, spelt)))
    return [] if len(found) == len(spelt) else list(found)


def _named(match: re.Match[str], spelt: dict[str, str]) -> list[str]:
    """Return the line's own references among those that a remark lists."""
    return [spelt[fold(ref)] for ref in expand_references(match["refs"].upper())[0] if fold(ref) in spelt]
