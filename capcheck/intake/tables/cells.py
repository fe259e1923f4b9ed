"""Customers' cells read as numbers: strictly, and never by guessing.

One cell is read by an anchored pattern of number, tolerance and unit, after the characters are brought to one form.
A whole column is read at once, so that 100,000 coordinates cost milliseconds.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Sequence
from typing import Final

import numpy as np

from capcheck.lexicon import tolerance_at, unit_named, units, vocabulary
from capcheck.model import Floats
from capcheck.values import ANGLE, LENGTH, NUMBER, Dimension, Interval, pattern


class CellError(ValueError):
    """A cell is not the measure asked for: what it is, why that matters and what to do."""

    def __init__(self, what: str, why: str, remedy: str) -> None:
        super().__init__(f"{what} ({why}); {remedy}")
        self.what = what
        self.why = why
        self.remedy = remedy


class NoUnitError(CellError):
    """A cell is a number, and nothing says of what unit."""


_SAME: Final = str.maketrans(
    {
        "\u2212": "-",
        "\u2013": "-",
        "\u2010": "-",
        "\u2011": "-",
        "\ufe63": "-",
        "\u2033": '"',
        "\u201d": '"',
        "\u201c": '"',
        "\u00a0": " ",
        "\u202f": " ",
        "\u2007": " ",
        "\u2009": " ",
        "\u00b5": "u",
        "\u03bc": "u",
        "\u00ba": "°",
        # A raised figure is the mark of a footnote: 8.5¹ is not 8.51.
        **dict.fromkeys("¹²³⁰⁴⁵⁶⁷⁸⁹", "*"),
    }
)

_UNIT: Final = r"(?:[^\W\d_]|[°\"'])"
_DIGITS: Final = r"(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)"
_VALUE: Final = pattern(
    lambda: (
        rf"""(?P<bound>max(?:imum)?\.?|min(?:imum)?\.?|<=?|≤|>=?|≥)?\s*
         (?P<number>[+-]?{_DIGITS}(?:[eE][+-]?[0-9]{{1,2}})?)\s*((?!m(?:ax|in)(?![^\W\d_])){_UNIT}+)?\.?
         (?:\s*(?:±|\+/-|\+-)\s*(?P<both>{_DIGITS})\s*(?P<both_unit>{_UNIT}+|%)?
           |\s*\+\s*(?P<plus>{_DIGITS})\s*/?\s*-\s*(?P<minus>{_DIGITS})\s*(?P<sides_unit>{_UNIT}+|%)?
           |\s*(?:\.\.\.?|-|~|(?<=\s){vocabulary().lists.up_to}(?=\s))\s*(?P<upper>{_DIGITS})
             \s*(?P<upper_unit>{_UNIT}+)?
         )?\s*(?P<after>max\.?|min\.?)?"""
    ),
    re.VERBOSE,
)
_LONGEST: Final = 80
_POINT_NUMBER: Final = pattern(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2})?")
_COMMA_NUMBER: Final = pattern(r"[+-]?(?:[0-9]+(?:,[0-9]*)?|,[0-9]+)(?:[eE][+-]?[0-9]{1,2})?")
_COMMA_THOUSANDS: Final = pattern(r"[+-]?[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+")
_AMBIGUOUS: Final = pattern(r"[+-]?[1-9][0-9]{0,2}([.,])[0-9]{3}")
"""One mark with three digits behind it and up to three before it, none of them a leading 0."""
_FINEST_MM: Final = 0.002
"""In a unit of a micrometre or a milligram three decimals are nobody's: the point is as likely to part thousands."""
_POINT_THOUSANDS: Final = pattern(r"[+-]?[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+")


def normalise(text: str) -> str:
    """Return *text* with one form for each sign: compatibility forms, minus signs, spaces, inch marks and µ."""
    if text.isascii():
        return text.strip()
    return unicodedata.normalize("NFKC", text.translate(_SAME)).translate(_SAME).strip()


def is_ambiguous(text: str, decimal: str | None) -> bool:
    """Whether the one mark of a number may part thousands or be the decimal one, where *decimal* is the file's."""
    found = _AMBIGUOUS.fullmatch(text)
    return found is not None and found[1] != (decimal or ".")


def _to_float(text: str, decimal: str | None, *, thousands: bool | None = None) -> float | None:
    """Return the number that *text* writes under *decimal*, or None where it is none or could be two.

    Only a mark with three digits behind it and no leading 0 could be two: 0,500 and 1,5 part no thousands. *thousands*
    says what it is, where that is known.
    """
    if is_ambiguous(text, decimal):
        if thousands is None:
            return None
        return float(text.replace(",", ".").replace(".", "" if thousands else "."))
    if "," not in text:
        return float(text) if _POINT_NUMBER.fullmatch(text) else None
    if _COMMA_THOUSANDS.fullmatch(text):
        return float(text.replace(",", ""))
    if _POINT_THOUSANDS.fullmatch(text):
        return float(text.replace(".", "").replace(",", "."))
    return float(text.replace(",", ".")) if _COMMA_NUMBER.fullmatch(text) else None


def _number(
    text: str, whole: str, dimension: Dimension, decimal: str | None, *, fine: bool = False
) -> tuple[float, float]:
    """Return the least and the greatest number that *text* may write; *fine* says that its unit needs no decimals."""
    if (found := _AMBIGUOUS.fullmatch(text)) and (fine or is_ambiguous(text, decimal)):
        # 1,200 mm and 12.000 µm: the mark may be the decimal one or part thousands.
        readings = [float(text.replace(found[1], mark)) for mark in (".", "")]
        return min(readings), max(readings)
    value = _to_float(text, decimal)
    if value is not None and math.isfinite(value):
        return value, value
    if "," in text or (decimal == "," and "." in text):
        raise CellError(
            f'"{whole}" is not clearly a {dimension}',
            "a comma or point may be the decimal mark or part thousands",
            f'write "{dimension.example}", or state the decimal mark of the file in board.toml (decimal = ",")',
        )
    raise _not_a(whole, dimension)


def _not_a(whole: str, dimension: Dimension) -> CellError:
    shown = whole if len(whole) <= _LONGEST else whole[:_LONGEST] + "…"
    return CellError(
        f'"{shown}" is not a {dimension}', "nothing is worked out from a guess", f'write it like "{dimension.example}"'
    )


def _factor(spelling: str, whole: str, dimension: Dimension) -> float:
    name = unit_named(spelling)
    if name is None:
        raise CellError(
            f'"{whole}": "{spelling}" is not a unit that capcheck knows',
            "a wrong unit makes a part many times too large or too small",
            f'write it like "{dimension.example}"',
        )
    unit = units().unit[name]
    if unit.measures != dimension.name:
        raise CellError(
            f'"{whole}" is a {unit.measures}, not a {dimension}',
            "the column was taken to state another quantity",
            f'write it like "{dimension.example}", or name the right column in board.toml',
        )
    return unit.factor


def read_measure(text: str, dimension: Dimension, *, unit: str | None, decimal: str | None) -> Interval:
    """Return the values that one cell leaves possible, in the canonical unit of *dimension*.

    A unit in the cell wins over *unit*, the one of the column. A tolerance or a range gives the interval its width;
    ``max 2.1 mm`` is bounded above only. Raises :class:`CellError` where the cell is not such a measure, where no
    unit is known, and where a comma could be two things.
    """
    whole = normalise(text[: 10 * _LONGEST])
    match = _VALUE.fullmatch(whole) if len(whole) <= _LONGEST else None
    if match is None:
        if dimension is LENGTH and (within := _within_tolerance(whole, unit, decimal)) is not None:
            return within
        raise _not_a(whole, dimension)
    written = [u for u in (match[3], match["both_unit"], match["sides_unit"], match["upper_unit"]) if u and u != "%"]
    if len(set(written)) > 1 and len({unit_named(u) or u for u in written}) > 1:
        raise CellError(f'"{whole}" names two units', "the two do not agree", f'write it like "{dimension.example}"')
    if dimension is NUMBER:
        if written:
            raise _not_a(whole, dimension)
        factor = 1.0
    elif written or unit:
        factor = _factor(written[0] if written else str(unit), whole, dimension)
    else:
        raise NoUnitError(
            f'"{whole}" has no unit',
            "neither the cell nor the column's title nor board.toml names one",
            f'write it like "{dimension.example}", or put the unit in the title, as in "height [mm]"',
        )
    low, high = _bounds(match, whole, dimension, decimal, fine=factor < _FINEST_MM)
    if low > high:
        if dimension is LENGTH and (within := _within_tolerance(whole, unit, decimal)) is not None:
            return within
        raise CellError(f'"{whole}" runs from high to low', "a range starts with its lower end", "exchange the two")
    return Interval(_scaled(low, factor), _scaled(high, factor))


_STATED: Final = pattern(rf"(?P<number>{_DIGITS})(?:\s*(?!tol){_UNIT}+)?")
_BEHIND: Final = pattern(r"\s?[)\]]?\s?(?:[^\W\d_]+|[\"'])?\.?")
_WORDS: Final = pattern(r"[^\W\d_]+|[\"']")
_UNITS: Final = pattern(r"(?<=[0-9\s])(?:[^\W\d_]{1,2}|mils?|inch)(?![^\W\d_])")
_ONE_SIDED: Final = pattern(r"(?:\s+|\s*[(\[])-[0-9.,]")
"""The sign of a tolerance below alone: a range has its sign apart from both numbers, or beside both."""
_WIDEST_TOLERANCE: Final = 0.2
"""Of what is stated: so much smaller, the second number is no lower end of a range; common practice, no source."""


def _within_tolerance(whole: str, unit: str | None, decimal: str | None) -> Interval | None:
    """Return a length with a tolerance in another order than usual or to one side: ``10 -0.2/+0.5``, ``10 (+0.5)``.

    None where the cell is none, so that it is read as any other.
    """
    stated = _STATED.match(whole) if len(whole) <= _LONGEST else None
    nominal = None if stated is None else _to_float(stated["number"], decimal)
    if stated is None or nominal is None:
        return None
    found = tolerance_at(whole, stated.end(), nominal)
    if found is None or found.below >= nominal or not _BEHIND.fullmatch(whole, found.end):
        return None
    words = [*_WORDS.findall(stated[0]), *_WORDS.findall(whole, found.end)]
    own = {unit_named(word) for word in (*words, *_UNITS.findall(whole[stated.end() : found.end]))}
    is_tolerance = found.says_above or 0 < found.below <= _WIDEST_TOLERANCE * nominal
    if None in own or len(own) > 1 or not (is_tolerance or _ONE_SIDED.match(whole, stated.end())):
        return None
    named = next(iter(own), None) or unit
    if named is None:
        return None
    try:
        value = read_measure(stated["number"], LENGTH, unit=named, decimal=decimal)
        factor = _factor(named, whole, LENGTH)
    except CellError:
        return None
    low, high = value.low - found.below * factor, value.high + found.above * factor
    return Interval(max(0.0, float(f"{low:.12g}")), float(f"{high:.12g}"))


def _bounds(
    match: re.Match[str], whole: str, dimension: Dimension, decimal: str | None, *, fine: bool
) -> tuple[float, float]:
    def number(group: str) -> tuple[float, float]:
        return _number(match[group], whole, dimension, decimal, fine=fine)

    def width(group: str, unit: str) -> float:
        by = max(map(abs, number(group)))
        return max(abs(low), abs(high)) * by / 100 if match[unit] == "%" else by

    low, high = number("number")
    if match["both"] is not None:
        by = width("both", "both_unit")
        low, high = low - by, high + by
    elif match["plus"] is not None:
        plus, minus = width("plus", "sides_unit"), width("minus", "sides_unit")
        low, high = low - minus, high + plus
    elif match["upper"] is not None:
        high = number("upper")[1]
    bound = (match["bound"] or match["after"] or "").rstrip(".")
    if bound.startswith(("max", "<", "≤")):
        low = -math.inf if dimension is ANGLE else 0.0
    elif bound.startswith(("min", ">", "≥")):
        high = math.inf
    return low, high


def _scaled(value: float, factor: float) -> float:
    """Twelve digits: 63 mil is 1.6002 mm and not 1.6001999999999998, so that a part exactly on a limit passes."""
    return float(f"{value * factor:.12g}") if math.isfinite(value) else value


_BARE: Final = b"0123456789.+-\n"
_CELL: Final = pattern(r"([+-]?[0-9.,]+(?:[eE][+-]?[0-9]{1,2})?)\s*((?:[^\W\d_]|[°\"'])*)\.?")


def read_numbers(
    cells: Sequence[str], *, decimal: str | None, thousands: bool | None = None
) -> tuple[Floats, list[str]]:
    """Return the numbers of a whole column, NaN where a cell holds none, and the unit each cell names.

    The unit is in the spelling of capcheck's unit file, ``""`` where the cell names none. A cell that is a number
    with something else behind it is NaN with no unit, and so is one whose comma or point could be two things, unless
    *thousands* says whether it parts thousands.
    """
    count = len(cells)
    joined = "\n".join(cells)
    if decimal != ",":
        unit, bare = _common_unit(joined, count)
        if bare.isascii() and not bare.encode().translate(None, _BARE):
            texts = bare.split("\n") if unit else cells
            try:
                return np.fromiter(map(float, texts), dtype=np.float64, count=count), [unit] * count
            except ValueError:
                pass  # an empty cell, or one such as 1-2: read cell by cell
    return _read_each(cells, decimal, thousands)


def ambiguous_cells(cells: Sequence[str], decimal: str | None) -> list[str]:
    """Return the cells whose number could be two, see :func:`read_numbers`."""
    mark = "." if decimal == "," else ","
    if mark not in "".join(cells):
        return []
    found = ((cell, _CELL.fullmatch(normalise(cell))) for cell in cells if mark in cell and len(cell) <= _LONGEST)
    return [cell for cell, match in found if match is not None and is_ambiguous(match[1], decimal)]


def _common_unit(joined: str, count: int) -> tuple[str, str]:
    """Take off a unit that every cell of a column carries, and return it with what is left."""
    first = joined.split("\n", 1)[0]
    match = re.search(r"[a-z]+$", first)
    unit = unit_named(match[0]) if match else None
    if match is None or unit is None:
        return "", joined
    ending = match[0]
    bare = (joined + "\n").replace(ending + "\n", "\n")
    if len(joined) + 1 - len(bare) != len(ending) * count:
        return "", joined
    return unit, bare[:-1]


def _read_each(cells: Sequence[str], decimal: str | None, thousands: bool | None) -> tuple[Floats, list[str]]:
    numbers = np.full(len(cells), np.nan)
    units = [""] * len(cells)
    for i, cell in enumerate(cells):
        if not cell or len(cell) > _LONGEST:
            continue
        match = _CELL.fullmatch(cell if cell.isascii() else normalise(cell))
        if match is None:
            continue
        unit = (unit_named(match[2]) or "") if match[2] else ""
        value = _to_float(match[1], decimal, thousands=thousands)
        if value is not None and math.isfinite(value) and (unit or not match[2]):
            numbers[i] = value
            units[i] = unit
    return numbers, units
