"""What a column's cells look like: references, numbers, angles, sides, footprints, whatever the title says."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from functools import cache, lru_cache
from typing import Final

from msgspec import Struct

from capcheck.intake.tables.references import is_plain_list
from capcheck.intake.tables.side_words import is_side_label
from capcheck.intake.tables.size_cell import is_product
from capcheck.lexicon import Words, fold, unit_words, usual_letters, vocabulary
from capcheck.values import pattern

_DIGITS: Final = r"(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+|[0-9]{1,3}(?:(?:\.[0-9]{3})+,|(?:,[0-9]{3})+\.)[0-9]+)"
_NUMBER: Final = pattern(rf"([+\-\u2212]?{_DIGITS}(?:[eE][+-]?[0-9]{{1,2}})?)(?:\s*([^\W\d_]+|[\"°]|''))?")
_UNIT_BEHIND: Final = pattern(r"\s*([^\W\d_]+|[\"°])$")
_LONGEST_UNIT: Final = 40
_REFERENCE: Final = pattern(
    r"[A-Za-zÄÖÜäöü_+]{1,12}[-_.]?[0-9]+[A-Za-z0-9_.\-#]{0,12}|[A-Za-z]{1,4}\?(?:_[0-9]+)?|[A-Z]{1,4}"
)
_PREFIX: Final = pattern(lambda: rf"(?:{'|'.join(usual_letters())})[0-9]")
_LIST_MARK: Final = pattern(r"[\s,;/]+|\.\.+|(?<=[0-9])\s*[-–]\s*(?=[A-Za-z])")
TURNED: Final = pattern(r"(?i)(m?)r(?=[+-]?[0-9.]+\s*°?$)")
_VALUE: Final = pattern(
    r"[+\-]?[0-9]+(?:[.,][0-9]+)?\s*(?:[pnuµμmkKMGR]?(?:F|H|Hz|HZ|V|A|Ohms?|ohms?|R|Ω|Ω)?|[pnuµmkKMR][0-9]+)(?:\b.*)?"
)
_SIZE_CODE: Final = (
    r"(?:^|[^0-9])(?:01005|0201|0402|0603|0805|1206|1210|1812|2010|2512|1005|1608|2012|3216|3225)(?:[^0-9]|$)"
)
_CODE_ALONE: Final = pattern(_SIZE_CODE)
_FOOTPRINT: Final = pattern(
    r"(?i)\b(?:sot|soic|sop|so|ssop|tssop|msop|qfn|dfn|qfp|tqfp|lqfp|bga|lga|plcc|sod|sma|smb|smc|melf|dip|to|do|res|cap|ind"
    r"|led|resc|capc|indc|xtal|crystal|conn|hdr|sip|wson|son|udfn|vqfn|wlcsp|mosfet|smd|smt|chip)[-_ ]?[a-z]*[0-9]"
    rf"|{_SIZE_CODE}"
)
_LENGTH: Final = pattern(
    r"(?i)[hlwb]\s?=\s?[0-9]+(?:[.,][0-9]+)?|(?:max\.?|<|~|≤)?\s*[0-9]+(?:[.,][0-9]+)?\s*(?:mm|mils?|cm)(?:\s*max\.?)?"
)
_ITEM: Final = pattern(r"\s*[0-9]{1,5}\s*[.)]?\s*")
_LEFT_OUT: Final = 1.5
"""Of items that are counted some may have been deleted: this many numbers for a row."""
_FEW: Final = 5
_SAMPLE: Final = 150
_LONGEST_NAME: Final = 80
"""No footprint's name is longer; lists of references are."""


def is_number(cell: str) -> bool:
    """Whether a cell is one number, with a unit of lengths or angles or without."""
    return _number_in(cell) is not None


def _number_in(cell: str) -> str | None:
    """Return the number that a cell is, without its unit."""
    return _number_in_short(cell) if len(cell) < 40 else None


@lru_cache(maxsize=4096)  # the same cells are looked at for the header, for each column's content and for its role
def _number_in_short(cell: str) -> str | None:
    match = _NUMBER.fullmatch(cell)
    return match[1] if match and (match[2] is None or fold(match[2]) in _units()) else None


def is_reference(cell: str) -> bool:
    """Whether a cell reads as one reference designator, such as ``C12``, ``U3A`` or ``FID1``."""
    return len(cell) <= 24 and _REFERENCE.fullmatch(cell) is not None


def is_reference_list(cell: str) -> bool:
    """Whether a cell reads as one or more reference designators, in a list or a range."""
    if cell and is_plain_list(cell):
        return not cell.isspace()
    parts = [p for p in _LIST_MARK.split(cell[:2000].strip(" ,;.")) if p]
    good = sum(is_reference(p) or (i > 0 and p.isdigit()) for i, p in enumerate(parts))
    return bool(parts) and good >= 0.8 * len(parts)


class Content(Struct, frozen=True):
    """Shares, 0 to 1, of a sample of a column's filled cells that look like something."""

    filled: float
    """Share of cells that hold anything."""
    distinct: float
    """Share of different texts among the filled cells."""
    number: float
    turned: float
    """Share of cells that are an angle behind letters: ``R90``, or ``MR90`` for a mirrored part."""
    reference: float
    reference_list: float
    prefix: float
    """Share of cells that begin with a usual class letter and a digit, as references do and part numbers do not."""
    side: float
    mirror: float
    angle: float
    value: float
    footprint: float
    mounting: float
    """Share of cells that say how a part is mounted, and nothing else."""
    product: float
    """Share of cells that are two or three numbers with a multiplication sign between them."""
    with_length: float
    """Share of cells that are a number with a unit of lengths."""
    counting: bool
    """Whether the column counts rows or items: small whole numbers, plain or in tens."""
    longest: int
    texts: tuple[str, ...]
    """The sample itself."""


def look_at(column: Sequence[str]) -> Content:
    """Return what a sample spread over the column looks like."""
    step = max(1, len(column) // _SAMPLE)
    sample = column[::step]
    cells = [c for c in sample if c]
    n = max(1, len(cells))
    counts = Counter(cells)
    numbers = {c: count for c, count in counts.items() if is_number(c)}
    # Most of a column of coordinates are different numbers: what only words can be is asked of words alone.
    words = {c: count for c, count in counts.items() if c not in numbers}

    def share(looks: Callable[[str], object], among: Mapping[str, int]) -> float:
        return sum(count for cell, count in among.items() if looks(cell)) / n

    def is_footprint(cell: str) -> object:
        return (_CODE_ALONE if cell in numbers else _FOOTPRINT).search(cell[:_LONGEST_NAME])

    return Content(
        filled=len(cells) / max(1, len(sample)),
        distinct=len(counts) / n,
        number=sum(numbers.values()) / n,
        turned=share(TURNED.match, words),
        reference=share(is_reference, words),
        reference_list=share(is_reference_list, words),
        prefix=share(_PREFIX.match, words),
        side=share(is_side_label, words),
        mirror=share(lambda c: fold(c) in _mirror_answers(), counts),
        angle=share(_is_angle, numbers),
        value=share(_VALUE.fullmatch, words),
        footprint=share(is_footprint, counts),
        mounting=share(is_mounting, words),
        product=share(is_product, words),
        with_length=share(_LENGTH.fullmatch, counts),
        counting=_counts(column),
        longest=max(map(len, counts), default=0),
        texts=tuple(cells),
    )


def is_mounting(cell: str) -> bool:
    """Whether a cell says how a part is mounted, and nothing else: ``SMT``, ``Thru-hole``."""
    return cell in _mountings()


@cache
def _mountings() -> Words:
    words = vocabulary().mountings
    return words.surface + words.drilled + words.surface_alone + words.drilled_alone


def _counts(column: Sequence[str]) -> bool:
    """Whether all cells are whole numbers no larger than rows that are counted, a few of them left out, may reach."""
    if not all(map(_ITEM.fullmatch, filter(None, column))):
        return False
    numbers = {int(c.strip(" .)")) for c in set(column) if c}
    if not numbers:
        return False
    most = _LEFT_OUT * len(column) + _FEW
    return max(numbers) <= most or (all(n % 10 == 0 for n in numbers) and max(numbers) <= 10 * most)


def _is_angle(cell: str) -> bool:
    """Whether a number is a multiple of 15 degrees within a turn either way, as nearly all angles of parts are."""
    number = _number_in(cell)
    try:
        value = float(number.replace(",", ".").replace("\u2212", "-")) if number else math.inf
    except ValueError:
        return False
    return -360 <= value <= 360 and abs(value / 15 - round(value / 15)) < 1e-6


_COMMA: Final = pattern(r"[+\-\u2212]?(?:[0-9]{1,3}(?:\.[0-9]{3})+|[0-9]*),[0-9]+")
_COMMA_SURE: Final = pattern(
    r"[+\-\u2212]?(?:[0-9]*,(?:[0-9]{1,2}|[0-9]{4,})|0?,[0-9]+|[0-9]{4,},[0-9]+|[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+)"
)
_POINT: Final = pattern(r"[+\-\u2212]?(?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]*)\.[0-9]+")
_POINT_SURE: Final = pattern(
    r"[+\-\u2212]?(?:[0-9]*\.(?:[0-9]{1,2}|[0-9]{4,})|0?\.[0-9]+|[0-9]{4,}\.[0-9]+|[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+)"
)


def decimal_mark(columns: Sequence[Sequence[str]]) -> str | None:
    """Return the decimal mark that the cells prove, or None.

    A mark is proved by a number with other than three digits behind it, or one that begins with 0, where no number
    has the other mark. ``1,234`` alone proves nothing: the comma may part thousands.
    """
    points = commas = sure_points = sure_commas = 0
    for column in columns:
        step = max(1, len(column) // _SAMPLE)
        cells = [_without_unit(c) for c in column[::step] if c and len(c) < 30 and c[-1:] not in ",."]
        found_commas = sum("," in c and _COMMA.fullmatch(c) is not None for c in cells)
        found_points = sum("." in c and _POINT.fullmatch(c) is not None for c in cells)
        if found_commas + found_points < 0.5 * len(cells):  # no column of numbers
            continue
        points += found_points
        commas += found_commas
        sure_points += sum("." in c and _POINT_SURE.fullmatch(c) is not None for c in cells)
        sure_commas += sum("," in c and _COMMA_SURE.fullmatch(c) is not None for c in cells)
    if sure_points and not commas:
        return "."
    return "," if sure_commas and not points else None


def _without_unit(cell: str) -> str:
    match = None if cell[-1].isdigit() else _UNIT_BEHIND.search(cell, max(0, len(cell) - _LONGEST_UNIT))
    return cell[: match.start()] if match and fold(match[1]) in _units() else cell


@cache
def _units() -> frozenset[str]:
    return unit_words("length", "angle").spelt


@cache
def _mirror_answers() -> frozenset[str]:
    answers = vocabulary().answers
    return answers.yes.spelt | answers.no.spelt | answers.mirrored.spelt | answers.not_mirrored.spelt | {"1", "0"}
