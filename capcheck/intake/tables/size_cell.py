"""A cell that states two or three sides of a body at once: ``10 x 10 x 1.6 mm``, ``L=5 W=4 H=2``, ``Ø8 × 10``."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Final

from capcheck.intake.tables.cells import CellError, normalise, read_measure
from capcheck.lexicon import AXES, SIDE_OF_LETTER, TIMES, axes_of, height_in_words, unit_named
from capcheck.values import LENGTH, Interval, pattern

_LONGEST: Final = 60
_NUMBER: Final = r"(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_UNIT: Final = r"(?:mm|cm|µm|um|mils?|in(?:ch)?|\"|'')"
_PRODUCT: Final = pattern(rf"(?i){_NUMBER}\s?(?:{_UNIT}|%)?\s?[)\]]?\s?{TIMES}\s?{_NUMBER}")
_SPLIT: Final = pattern(rf"(?i)(?<=[\dlwbhtdmn)\"'.%])\s*{TIMES}\s*(?=[lwbhtdøØ⌀\s=:]*[\d.,])")
_LABELLED: Final = pattern(r"(?i)[,;/\s]+(?=[lwbhtdøØ⌀]\s?[=:]?\s?[\d.,])")
_PIECE: Final = pattern(
    r"(?i)(?:(?P<before>[lwbhtdøØ⌀])\s*[=:]?\s*)?(?P<measure>[^a-zøØ⌀]?.*?)\s*(?:(?<=[\d\s(])(?P<behind>[lwbhtd])\)?)?"
)
_CODE: Final = pattern(r"\d{4,5}")
_NUMERIC: Final = pattern(r"(?i)[\d\s.,/x×*✕╳хХ;:±+~–\-()\[\]%=lwbhtdøØ⌀]*")
_BESIDE: Final = pattern(
    rf"(?i)(?<![^\W\d_]){_UNIT}(?![^\W\d_])|(?<![^\W\d_])(?:max|min|typ|nom|approx|ca|tol(?:eran[cz]e?)?)(?![^\W\d_])\.?"
)
"""Words beside the numbers that leave them numbers."""
_STATES: Final = pattern(
    rf"(?i){_NUMBER}\D{{0,9}}?{TIMES}\s?\D?\s?[\d.]|\d[.,]\d|\d+\D+\d+\D+\d+|\d\s?(?:mm|cm|mils?|inch)(?![^\W_])"
)
_A_LENGTH: Final = pattern(
    rf"(?i)(?<![\w.,]){_NUMBER}\s?(?:mm|cm|mils?)(?![^\W_])"
    rf"|{_NUMBER}\s?{TIMES}\s?{_NUMBER}\s?{TIMES}\s?{_NUMBER}"
)
_LEADING_BOUND: Final = pattern(r"(?i)(?:max(?:imum)?\.?|<=?|≤)\s*(?=\d)")
_TYPICAL: Final = pattern(r"(?i)\s*\(?(?<![^\W\d_])(?:typ|nom|approx|ca)(?![^\W\d_])\.?\)?\s*")
_BY: Final = pattern(r"(?i)(?<=\d)\s*by\s*(?=\d)")
_UNIT_IN_BRACKETS: Final = pattern(rf"(?i)[\[({{]\s*({_UNIT})\s*[\])}}]")
_THREE_SIDES: Final = pattern(
    rf"(?i)(?<![\w.]){_NUMBER}\s?(?:mm)?\s?{TIMES}\s?{_NUMBER}\s?(?:mm)?\s?{TIMES}\s?{_NUMBER}"
)
_MAY_NAME_A_BODY: Final = pattern(
    r"(?i)(?<![\w.-])(?:0[0-9]{3}|[1-3][0-9]{3})(?![\w.-])"
    r"|(?<![a-z])(?:sot|soic|s?sop|tssop|qfn|l?qfp|dfn|bga|dip|to|sod|melf|d2?pak)[-_ ]?[0-9]"
)
"""A code of a size, or the name of a package with its number."""
_COMMA: Final = pattern(r"(?<=\d),(?=(?:\d{1,2}|\d{4,})(?!\d))")
_POINT: Final = pattern(r"\d\.(?:\d{1,2}|\d{4,})(?!\d)")
_TOLERANCE: Final = pattern(r"(?i)(?<=[\d\s\w\"'])\s?[(\[]?(?:±|\+|-(?=[\d.,])|tol).*")
_LARGEST_MM: Final = 60.0
"""A number without a unit that is larger is as likely one of mil."""


def is_product(cell: str) -> bool:
    """Whether a cell is two or three numbers with a multiplication sign between, and no more than a unit beside."""
    if len(cell) > _LONGEST or not any(map(str.isdigit, cell)):
        return False
    return _PRODUCT.search(cell) is not None and _is_bare(normalise(cell))


def _is_bare(text: str) -> bool:
    return _NUMERIC.fullmatch(_BESIDE.sub(" ", text)) is not None


def states_size(text: str) -> bool:
    """Whether a text states a height in words, or three sides of a body somewhere."""
    return height_in_words(text) is not None or _THREE_SIDES.search(text) is not None


def may_name_body(text: str) -> bool:
    """Whether a text states a size, or holds what may be the code of one or a package's name."""
    return states_size(text) or _MAY_NAME_A_BODY.search(text) is not None


def is_code(cell: str) -> bool:
    """Whether a cell may be the code of a size: four or five digits and nothing else."""
    return _CODE.fullmatch(cell) is not None


def may_be_size(cell: str) -> bool:
    """Whether a cell below a title of sizes states one, readable or not; codes and names such as 0603 do not."""
    text = normalise(cell)
    if _CODE.fullmatch(text) or len(text) > 4 * _LONGEST:
        return False
    return _PRODUCT.match(text) is not None or (
        _STATES.search(text) is not None and (_is_bare(text) or _A_LENGTH.search(text) is not None)
    )


@lru_cache(maxsize=4096)
def read_size(text: str, *, unit: str | None, axes: str, decimal: str | None) -> Mapping[str, Interval] | None:
    """Return the sides that a cell states, in mm, by ``length``, ``width`` and ``height``; None where it is unclear.

    Without letters the order is that of *axes*, and without these length, width, height, as is usual.
    """
    whole = normalise(text)
    if len(whole) > _LONGEST:
        return None
    if own := axes_of(whole):
        named = AXES.search(whole)
        whole, axes = (AXES.sub("", whole).replace("()", "").strip(" :=;,") if named else whole), own
    bound = _LEADING_BOUND.match(whole)
    whole = whole[bound.end() :] if bound else _TYPICAL.sub("", whole)
    whole = _BY.sub("x", _UNIT_IN_BRACKETS.sub(r"\1", whole))
    whole = _COMMA.sub(".", whole) if "." not in whole else whole
    if _POINT.search(whole):
        decimal = None
    pieces = _SPLIT.split(whole)
    if len(pieces) == 1:
        pieces = _LABELLED.split(whole)
    taken = [_PIECE.fullmatch(piece.strip()) for piece in pieces]
    if not 0 < len(pieces) <= 3 or not all(taken):
        return None
    labels = [
        SIDE_OF_LETTER.get((m["before"] or m["behind"] or "").lower(), "D" if m["before"] else "") for m in taken if m
    ]
    order = _order(labels, axes)
    texts = _with_the_last_tolerance([m["measure"] for m in taken if m])
    values = _measures(texts, unit, decimal)
    if order is None or values is None or min(value.high for value in values) <= 0:
        return None
    if bound:
        values = [Interval.at_most(value.high) for value in values]
    return _as_sides(dict(zip(order, values, strict=True)))


def _order(labels: list[str], axes: str) -> str | None:
    """Return the side that each number is, or None where that cannot be told."""
    named = "".join(labels)
    named = named.replace("T", "W" if "H" in named else "H")
    if len(named) == len(labels):
        return named if len(set(named)) == len(named) else None
    if named == "D" and labels[0] and len(labels) == 2:
        return "D?"
    if len(labels) == 1:
        return None
    if named:
        rest = [side for side in "LWH" if side not in named]
        return "".join(label.replace("T", "H") or rest.pop(0) for label in labels) if "D" not in named else None
    if axes:
        return axes[: len(labels)] if len(labels) <= len(axes) else None
    return "LWH"[: len(labels)]


def _with_the_last_tolerance(texts: list[str]) -> list[str]:
    """Return the numbers, each with a tolerance behind the last alone: that of ``10 x 8 ±0.2`` may be of both."""
    if any(_TOLERANCE.search(text) for text in texts[:-1]) or len(texts) < 2:
        return texts
    found = _TOLERANCE.search(texts[-1])
    return texts if found is None else [*(f"{text} {found[0]}" for text in texts[:-1]), texts[-1]]


def _bare(text: str) -> str:
    """Return a number without brackets around it; those around its tolerance stay."""
    text = text.strip()
    return text if _TOLERANCE.search(text) else text.strip("() ")


def _measures(texts: list[str], unit: str | None, decimal: str | None) -> list[Interval] | None:
    """Return the numbers in mm; one without a unit has that of the others, of the title, or else is in mm."""
    behind = [match[0] for text in texts if (match := re.search(r"(?:[^\W\d_]+|[\"'])$", text.rstrip(".)")))]
    others = [found for found in map(unit_named, behind) if found]
    default = others[-1] if others else unit
    try:
        values = [read_measure(_bare(text), LENGTH, unit=default or "mm", decimal=decimal) for text in texts]
    except CellError:
        return None
    if default is None and (max(v.high for v in values) > _LARGEST_MM or max(v.high for v in values) < 0.5):
        return None
    return values


def _as_sides(by_letter: Mapping[str, Interval]) -> Mapping[str, Interval]:
    """Return the sides of a box; what is round is as long as wide, and lies or stands."""
    found = {name: by_letter[letter] for letter, name in _NAMES.items() if letter in by_letter}
    diameter = by_letter.get("D")
    if diameter is None:
        return found
    other = by_letter.get("?") or by_letter.get("L")
    if "height" in found:
        return {**found, "length": found.get("length", diameter), "width": diameter}
    if other is None:
        return {"length": diameter, "width": diameter}
    return {"length": diameter.hull(other), "width": diameter, "height": diameter.hull(other)}


_NAMES: Final[Mapping[str, str]] = {"L": "length", "W": "width", "H": "height"}
