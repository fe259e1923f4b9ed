"""What texts beside the lists say of the whole board: how thick it is, how long and wide, and what it weighs.

A thickness counts with a word for it, ``Finished thickness 2.4 mm``, or alone beside a word for the bare board, ``FR4,
2.4 mm``; a size as two lengths with a sign or a word between, beside a word for the board or for a size. What is of its
copper, its mask, a stencil, a track or a hole is none of the board's.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from msgspec import Struct

from capcheck.lexicon import Concept, fold, mm_per, tolerance_at, unit_named, vocabulary
from capcheck.model import SetAside
from capcheck.values import Place, pattern

_LONGEST: Final = 200
_THINNEST_MM: Final = 0.15
_THICKEST_MM: Final = 12.0
_SMALLEST_MM: Final = 5.0
"""No board that is placed by machine is thinner, thicker or smaller; common practice, no source."""
_NUMBER: Final = r"(\d{1,4}(?:[.,]\d{1,4})?)"
_UNIT: Final = r"(?:\s{0,2}(mm|cm|mils?|thou|inch|inches|zoll|in|\"|µm|um)(?![^\W\d_]))?"
_LENGTH: Final = pattern(rf"(?<![\w.,+±/-]){_NUMBER}{_UNIT}(?![\d.,]*\d)")
_SIZE: Final = pattern(
    lambda: rf"(?<![\w.,]){_NUMBER}{_UNIT}\s{{0,3}}(?:[x×*]|{vocabulary().boards.by})\s{{0,3}}{_NUMBER}{_UNIT}"
)
_SIDES: Final = pattern(
    lambda: (
        rf"(?:{vocabulary().titles[Concept.LENGTH]})\W{{0,4}}{_NUMBER}{_UNIT}\W{{0,4}}"
        rf"(?:{vocabulary().titles[Concept.WIDTH]})\W{{0,4}}{_NUMBER}{_UNIT}"
    )
)
_MASS: Final = pattern(r"(?<![\w.,])(\d{1,5}(?:[.,]\d{1,4})?)\s{0,2}(kg|g|gr|gramm|grams|grammes)(?![^\W\d_])")
_CLAUSE: Final = pattern(r"[;()]|,(?!\d)|[.](?=\s|$)|、|。|，")
_TOLERANCE_IN_BRACKETS: Final = pattern(r"\(\s?((?:±|[+-]|tol)[^()]{1,40})\)")
_POINT: Final = pattern(r"(?<![^\W\d_])tol(?:eran[cz]e?)?\.(?=\s)")
_BELOW: Final = pattern(r"\s?[(]?-[0-9.,]")
_UNIT_BEHIND: Final = pattern(r"(?<=[\d\s])(mm|cm|mils?|thou|inch|inches|in|µm|um)(?![^\W\d_])")
_GRAMS: Final = {"kg": 1000.0}


class ToldOfBoard(Struct, frozen=True):
    """A line with the thicknesses and sizes in mm, and the masses in g, that it states of the board."""

    place: Place
    text: str
    thickness: tuple[float, ...] = ()
    size: tuple[tuple[float, float], ...] = ()
    mass: tuple[float, ...] = ()
    thickest: float = 0.0
    """The greatest thickness, in mm, that a tolerance behind one leaves; 0 where none is stated."""


def said_of_board(rows: Iterable[SetAside]) -> tuple[ToldOfBoard, ...]:
    """Return what the rows set aside, and the lines of texts, state of the board."""
    return tuple(told for row in rows if (told := _told(row.place, row.text)) is not None)


def speaks_of_board(text: str) -> bool:
    """Whether a line states a thickness, a size or a mass of the board."""
    return _told(Place(""), text) is not None


def _told(place: Place, text: str) -> ToldOfBoard | None:
    if len(text) > _LONGEST or not any(map(str.isdigit, text)):
        return None
    boards = vocabulary().boards
    clauses = _CLAUSE.split(_TOLERANCE_IN_BRACKETS.sub(r" \1 ", _POINT.sub("tol ", fold(text))))
    folded = ", ".join(clause.strip() for clause in clauses if not boards.features.search(clause))
    folded, above = _without_tolerances(folded)
    is_board, is_thick = (
        boards.bare.search(folded) is not None,
        vocabulary().layers.thickness.search(folded) is not None,
    )
    is_size = is_board or vocabulary().titles[Concept.SIZE].search(folded) is not None
    sizes = [*(_SIZE.finditer(folded) if is_size else ()), *_SIDES.finditer(folded)]
    rest = folded
    for match in reversed(sizes):
        rest = f"{rest[: match.start()]} {rest[match.end() :]}"
    thickness = _thickness(rest, named=is_thick) if is_thick or is_board else ()
    told = ToldOfBoard(
        place,
        text,
        thickness,
        tuple(s for match in sizes if min(s := _size(match.groups())) >= _SMALLEST_MM),
        tuple(_mass(*match.groups()) for match in _MASS.finditer(folded)) if is_board else (),
        max((round(value + above.get(value, 0.0), 4) for value in thickness), default=0.0),
    )
    return told if told.thickness or told.size or told.mass else None


def _without_tolerances(folded: str) -> tuple[str, dict[float, float]]:
    """Return a text without the tolerances behind its lengths, and by how many mm each in mm may be above itself."""
    kept: list[str] = []
    above: dict[float, float] = {}
    begin = 0
    for match in _LENGTH.finditer(folded):
        if match.start() < begin:
            continue
        found = tolerance_at(folded, match.end(), float(match[1].replace(",", ".")))
        # Of "1.6 - 1.7 mm" each is a thickness.
        if found is None or not (found.says_above or _BELOW.match(folded, match.end())):
            continue
        unit = match[2] or (behind[1] if (behind := _UNIT_BEHIND.search(folded[match.end() : found.end])) else None)
        value = _mm(match[1], unit or "mm")
        above[value] = max(above.get(value, 0.0), found.above * value / max(float(match[1].replace(",", ".")), 1e-9))
        kept.append(f"{folded[begin : match.start()]}{match[1]} {unit or ''}")
        begin = found.end
    return "".join((*kept, folded[begin:])), above


def _thickness(folded: str, *, named: bool) -> tuple[float, ...]:
    """Return the lengths that may be a board's thickness; without a word for it one of them, in a unit."""
    lengths = [(m[1], m[2]) for m in _LENGTH.finditer(folded)]
    measured = [(number, unit) for number, unit in lengths if unit]
    if not measured and named:
        # "Thickness 2.4" means millimetres; a whole number alone may count layers, or be a year.
        measured = [(number, "mm") for number, _ in lengths if not number.isdigit() or len(lengths) == 1]
    found = tuple(value for length in measured if _THINNEST_MM <= (value := _mm(*length)) <= _THICKEST_MM)
    return found if named or len(found) == 1 else ()


def _size(groups: tuple[str | None, ...]) -> tuple[float, float]:
    one, its, other, of_other = groups
    unit = of_other or its or "mm"
    return _mm(one or "", its or unit), _mm(other or "", unit)


def _mm(number: str, unit: str) -> float:
    sign = {"thou": "mil", "mils": "mil", "inches": "inch"}.get(unit, unit)
    return round(float(number.replace(",", ".")) * mm_per()[unit_named(sign) or "mm"], 4)


def _mass(number: str, unit: str) -> float:
    return float(number.replace(",", ".")) * _GRAMS.get(unit, 1.0)
