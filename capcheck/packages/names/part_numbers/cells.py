"""The part numbers that stand in a cell: one, or several with a sign between them, or words with a number among them.

Inventory numbers and a distributor's own order numbers are no maker's; where a distributor writes his digits or letters
before or behind a maker's number (``123-ABC45``, ``ABC45CT-ND``), that number is what is left.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from capcheck.lexicon import vocabulary
from capcheck.values import pattern

if TYPE_CHECKING:
    from collections.abc import Iterator

_MOST_CHARACTERS: Final = 400
_MOST_PIECES: Final = 40
_SHORTEST: Final = 2
_LONGEST: Final = 48
_SIGNS: Final = (
    re.compile(r"[~;|\r\n\t]+|\s+OR\s+|\s+/\s+|\s{2,}"),
    re.compile(r"[~;|,\r\n\t]+|\s+OR\s+|\s+/\s+"),
    re.compile(r"[~;|,/\s]+"),
    re.compile(r"[~;|,/\s_()\[\]:=]+"),
)
"""What separates numbers, the surest first: some makers have a comma, a stroke or a space within a number."""
_CHOICE: Final = pattern(lambda: rf"(?i)(?<![\s(])[\s(]++(?:{vocabulary().lists.choice})[.:]?\s++")
"""A word between two numbers of which either may be fitted."""
_ONE_NUMBER: Final = pattern(r"/ ?\d{1,2}-\d{1,2}(?:[.,]\d{1,2})?(?!\d)|(?<=-\d),\d{1,2}(?=[A-Z]{0,4}(?:[-/\s]|$))")
"""Behind the type of a terminal its positions and its pitch, which may have a comma: no other number begins there."""
_WITHIN: Final = str.maketrans({"/": "\x00", ",": "\x01"})
_AS_WRITTEN: Final = str.maketrans({"\x00": "/", "\x01": ","})
_BEHIND: Final = pattern(r"(?:-?(?:CT|TR|DKR|TB))?-ND$|[_ ]C\d{3,9}$|\\?,\d{3}$|-MFG$")
_BEFORE: Final = pattern(r"^(?:\d{2,4}|FP)-(?=[A-Z0-9]*[A-Z])")
_OWN_NUMBER: Final = pattern(r"C\d{2,9}|\d{1,4}-[\w.#-]*-ND|[A-Z\d.#-]*-ND|\d{6,8}(?:RL)?|\d{1,5}")
"""An inventory letter with digits, an order number of a distributor: no maker's number."""
_LIKE_A_NUMBER: Final = pattern(r"(?=[^\d]*\d)(?=[^A-Z]*[A-Z])[A-Z0-9][A-Z0-9#+./-]{4,}")
_DIGITS: Final = frozenset("0123456789")


def beginnings(cell: str) -> list[str]:
    """Return every piece of *cell* that a number may begin with, however the cell is cut."""
    whole = cell.upper()[:_MOST_CHARACTERS]
    found = [piece.lstrip(" .\"'") for piece in (whole, *_SIGNS[-1].split(whole))]
    if "-" in cell:
        found += [_BEFORE.sub("", piece) for piece in found if "-" in piece]
    return found


def levels(cell: str) -> Iterator[tuple[str, ...]]:
    """Yield the pieces of *cell* that may be part numbers, in capitals: the whole first, then by ever more signs."""
    whole = cell.upper().strip()[:_MOST_CHARACTERS]
    if not _may_be(whole):
        return
    seen: set[tuple[str, ...]] = set()
    if len(whole) <= _LONGEST:
        seen.add((whole,))
        yield (whole,)
        if " " in whole:
            # Some write a number in groups: PTS000 SJM 000.
            yield (whole.replace(" ", ""),)
    for sign in _SIGNS:
        pieces = tuple(p for piece in _split(sign, whole) if _may_be(p := piece.strip(" .\"'")))[:_MOST_PIECES]
        if pieces and pieces not in seen:
            seen.add(pieces)
            yield pieces


def _split(sign: re.Pattern[str], cell: str) -> list[str]:
    """Return what a sign separates, and not what it is part of."""
    if "/" not in cell and "," not in cell:
        return sign.split(cell)
    kept = _ONE_NUMBER.sub(lambda within: within[0].translate(_WITHIN), cell)
    return [piece.translate(_AS_WRITTEN) for piece in sign.split(kept)]


def _may_be(text: str) -> bool:
    return len(text) >= _SHORTEST and not _DIGITS.isdisjoint(text)


def written_as(piece: str) -> Iterator[str]:
    """Yield the ways to read one piece: as it is, and without what a distributor writes before or behind it."""
    if len(piece) > _LONGEST:
        return
    yield piece
    bare = piece
    while (shorter := _BEHIND.sub("", bare)) != bare:
        bare = shorter
        yield bare
    if (shorter := _BEFORE.sub("", bare)) != bare:
        yield shorter


def alternates(cell: str) -> tuple[str, ...]:
    """Return the part numbers of a cell that holds several, as written: any of them may be fitted; else none.

    Each piece must look like a maker's number by itself, since some have a comma, a stroke or a blank within.
    """
    whole = _CHOICE.sub(" ; ", cell.strip()[:_MOST_CHARACTERS])
    for sign in _SIGNS[:3]:
        pieces = list(dict.fromkeys(piece.strip(" .\"')") for piece in _split(sign, whole)))
        if 1 < len(pieces) <= _MOST_PIECES and all(is_other_number(piece.upper()) for piece in pieces):
            return tuple(pieces)
    return ()


def is_other_number(piece: str) -> bool:
    """Whether a piece that no scheme reads looks like a maker's number, which may stand for another body."""
    return _OWN_NUMBER.fullmatch(piece) is None and _LIKE_A_NUMBER.fullmatch(piece) is not None
