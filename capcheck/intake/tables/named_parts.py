"""Whether a row that is no data all the same reads like a part: what leaves a list so is asked about."""

from __future__ import annotations

from collections.abc import Container, Sequence
from typing import Final

from capcheck.intake.tables.content import is_reference_list
from capcheck.intake.tables.references import expand_references, prefix_of
from capcheck.lexicon import reference_letters, vocabulary
from capcheck.values import pattern

REFERENCE: Final = pattern(r"(?<![\w.])[^\W\d_]{1,4}\d{1,5}(?![\w.]\w)(?!\w)")
"""What may be a reference within a text."""
_RANGE: Final = pattern(
    lambda: (
        r"(?<![\w.])(?P<letters>[^\W\d_]{1,4})(?P<first>\d{1,5})"
        rf"\s?(?:[-\u2010-\u2015~…]|\.{{2,3}}|{vocabulary().lists.up_to})\s?(?:(?P=letters))?(?P<last>\d{{1,5}})(?![\w.]\w)(?!\w)"
    )
)
_MARKS: Final = pattern(r"^(?:[#;!*\s]|//|--)+")
"""What turns a row into a remark."""
_PLAIN: Final = pattern(r"[^\W\d_]{1,4}\d{1,5}[^\W\d_]?")
"""A reference beyond doubt: part numbers and dates begin with class letters too."""
_PART_NUMBER: Final = pattern(r"(?=\S{0,40}[0-9])(?:(?=\S{0,40}[^\W\d_])|(?=\S{6}))[\w#+./-]{5,40}")
_DATE_OR_VERSION: Final = pattern(
    r"(?i)(?:v|ver|rev|r)?\.?[0-9]{1,4}(?:\.[0-9]{1,3}){0,3}[a-z]?|[0-9]{4}[-./][0-9]{1,2}[-./][0-9]{1,2}"
    r"|[0-9]{1,2}[-./][0-9]{1,2}[-./][0-9]{2,4}|\S*\.[a-z_]{2,12}"
)
"""Or the name of a file."""
_COUNT_OR_SUM: Final = pattern(r"[0-9][0-9.,]*[^\W\d_]{1,4}|[^\W\d_]{3}[0-9]+[.,][0-9]+")
"""``25pcs``, ``EUR12.50``."""
_FEWEST: Final = 2
"""Filled cells of a row that reads like a part: a reference alone is a heading or a remark."""


def begins_as_reference(text: str) -> bool:
    """Whether a name begins with a few letters and figures, as ``R1`` and ``J2-A`` do and ``screws-M3x10`` does not."""
    return _PLAIN.match(text) is not None


def references_in(text: str, known: Container[str]) -> tuple[str, ...]:
    """Return the references among *known* that a text names, those of its ranges, ``R3-R7``, each in full."""
    found = REFERENCE.findall(text)
    for match in _RANGE.finditer(text):
        found += expand_references(f"{match['letters']}{match['first']}-{match['letters']}{match['last']}", known)[0]
    return tuple(dict.fromkeys(ref for ref in found if ref in known))


def names_a_part(cell: str) -> bool:
    """Whether a cell that stands alone in its row reads like a part number, and not like a title, a date or a file."""
    return _PART_NUMBER.fullmatch(cell) is not None and _DATE_OR_VERSION.fullmatch(cell) is None


def buys_a_part(cells: Sequence[str]) -> bool:
    """Whether a row of a few words lists references, or states a part number behind its first filled cell."""
    filled = [text for cell in cells if (text := cell.strip())]
    return bool(parts_named(filled)) or any(
        names_a_part(text) and _COUNT_OR_SUM.fullmatch(text) is None for text in filled[1:]
    )


def parts_named(cells: Sequence[str]) -> tuple[str, ...]:
    """Return the references in the first cell that lists some by their class letters; none for a row of a few words."""
    filled = [text for cell in cells if (text := _MARKS.sub("", cell.strip()))]
    if len(filled) < _FEWEST:
        return ()
    for text in filled:
        if any(map(str.isdigit, text)) and is_reference_list(text):
            refs = expand_references(text)[0]
            if refs and all(_PLAIN.fullmatch(ref) and prefix_of(ref) in reference_letters() for ref in refs):
                return tuple(dict.fromkeys(refs))
    return ()
