"""The width of a body that a small outline's name states in words, and the published outlines that have it.

``SOIC-16W``, ``SO-8 150mil``, ``16-SOIC (0.295", 7.50mm Width)``, ``SOIC14_7.5mm``: JEDEC and EIAJ bodies of one pin
count differ in it.
"""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from capcheck.packages.names.outlines.published import by_word, words
from capcheck.packages.tables import Family, Outline, Word, rows_of
from capcheck.values import pattern

_IN_WORDS: Final = pattern(r"(?<![\d.])(\d{1,2}(?:\.\d{1,2})?)\s?MM[-_ ]WIDTH")
_MIL: Final = pattern(r"(?<![\d.X])(118|150|154|173|20[89]|240|295|300|400)[- ]?MILS?(?![A-Z])")
_IN_MM: Final = pattern(
    r"(?<![\d.,X×*])(?<![X×*][ _])(\d{1,2}(?:[.,]\d{1,2})?)[ ]?MM"
    r"(?![A-Z]|[-_ ]?(?:[X×*]|PITCH|HIGH|HEIGHT|TALL|THICK|LONG|LENGTH|SPAN|ROW|TAPE|MAX|TYP))"
)
"""One length that nothing says the meaning of: the width where the small outlines have such a one."""
_EIAJ: Final = pattern(r"(?<![A-Z])EIAJ(?![A-Z])|(?<![\d.X])5\.(?:2[358]?\d?|3)(?![\d.]*\s?(?:X|MM PITCH))")
_WIDE: Final = pattern(r"(?<![A-Z])(?:WIDE|WB|SOICW|SOW)(?![A-Z])|(?<![A-Z0-9])W(?![A-Z0-9.])")
_NARROW: Final = pattern(r"(?<![A-Z])(?:NARROW|NB|SOICN)(?![A-Z])|(?<![A-Z0-9])N(?![A-Z0-9.])")
_SUFFIX: Final = pattern(r"[-_ ]?(\d{1,2})(?:D?(W)|(N))(?![A-Z0-9.])")
"""The width letter right after the pins: 16W, 16DW, 8N."""
_SMALL_OUTLINES: Final = frozenset((Family.SOIC, Family.SOP, Family.TSOP, Family.SOJ))
_LETTERED: Final = frozenset(("SO", "SOIC", "SSOP"))
_SAME_MM: Final = 0.16


class _Width(Struct, frozen=True):
    """The width of a body by the mil that name it."""

    mil: str
    width_mm: float
    source: str


def fitting(name: str, word: Word, pins: int | None) -> tuple[tuple[Outline, ...], bool]:
    """Return the outlines of a word with so many pins, and whether the name states the width that chose them."""
    if pins is None:
        return (), False
    found = by_word(word, pins)
    width = _width(name, pins, word) if word.family in _SMALL_OUTLINES else None
    if width is None:
        return found, False
    if word.answers_to & _LETTERED:
        # Eight leads on the wide body answer to no other word, and SOIC with a width in mil means any small outline.
        other = word if "SSOP" in word.answers_to else words()["SOICW" if width > 7 else "SO"]
        found = tuple(dict.fromkeys((*found, *by_word(other, pins))))
    chosen = tuple(o for o in found if min(abs(o.width_mm - width), abs(o.length_mm - width)) < _SAME_MM)
    return (chosen, True) if chosen or word.answers_to & _LETTERED else (found, False)


def _width(name: str, pins: int, word: Word) -> float | None:
    """Return the body's width in mm that a name states by a number, or by letters and words beside the pins."""
    if match := _IN_WORDS.search(name):
        return float(match[1])
    if match := _MIL.search(name):
        widths = {row.mil: row.width_mm for row in rows_of("widths_in_mil", _Width)}
        return widths[match[1]]
    if (bare := _bare_width(name)) is not None:
        return bare
    if not word.answers_to & _LETTERED:
        return None
    if _EIAJ.search(name):
        return 5.25
    letters = next((m for m in _SUFFIX.finditer(name) if int(m[1]) == pins), None)
    if _WIDE.search(name) or (letters and letters[2]):
        return 7.5
    return 3.9 if _NARROW.search(name) or (letters and letters[3]) else None


def _bare_width(name: str) -> float | None:
    """Return the one length in mm in a name, where it is a width of the small outlines and nothing says otherwise."""
    found = {float(match[1].replace(",", ".")) for match in _IN_MM.finditer(name)}
    widths = {row.width_mm for row in rows_of("widths_in_mil", _Width)}
    known = {width for length in found for width in widths if abs(width - length) < _SAME_MM}
    return known.pop() if len(found) == len(known) == 1 else None
