"""Limits: named quantities of a rule, and what is said of a text that is none."""

from __future__ import annotations

import math
import re
from typing import Final

from msgspec import Struct

from capcheck.values import (
    COMMON_UNITS,
    NUMBER,
    Dimension,
    UnitError,
    dimension_of,
    nearest,
    pattern,
    read_any_quantity,
)


class ExpressionError(ValueError):
    """An expression is not allowed, or does not fit together. The message quotes the part that is wrong."""


class Limit(Struct, frozen=True):
    """A named limit of a rule: its canonical magnitude and its dimension."""

    value: float
    dimension: Dimension


_LARGEST: Final = 1e30
_COMMA: Final = pattern(r"\s*+[+-]?\d++,\d++.*+")
_OTHER_MINUS: Final = pattern(r"[−–—](?=\s{0,9}[\d.])")
_NUMBER_AND_WORD: Final = pattern(r"\s*+[+-]?(?:\d++\.?\d*+|\.\d++)\s*+([A-Za-zµ°]++)\s*+")
_POWER: Final = pattern(r"\s*+([+-]?(?:\d++\.?\d*+|\.\d++)\s*+[A-Za-zµ]++)(?:\^([23])|([²³]))\s*+")
_NO_NUMBER: Final = pattern(r"\s*[+-]?(nan|inf|infinity)\b.*", re.IGNORECASE)


def read_limit(text: object) -> Limit:
    """Return a limit from ``"3 mm"`` or a bare number. Raises :class:`ExpressionError`."""
    if isinstance(text, int | float) and not isinstance(text, bool):
        if isinstance(text, float) and not math.isfinite(text):
            raise ExpressionError(f"{text} is not a number that anything can be held to; {_no_limit(str(text))}")
        if not abs(text) <= _LARGEST:
            raise ExpressionError("the number is too large; nothing that a rule compares is near it")
        return Limit(float(text), NUMBER)
    if not isinstance(text, str):
        raise ExpressionError(f"{text!r} is not a quantity; write a number or a text with a unit, like '3 mm'")
    try:
        value, exponents = read_any_quantity(text)
    except UnitError as error:
        raise ExpressionError(_no_quantity(text) or str(error)) from None
    if not abs(value) <= _LARGEST:
        raise ExpressionError(f"{text[:40]!r} is too large; nothing that a rule compares is near it")
    return Limit(value, dimension_of(exponents))


def _no_quantity(text: str) -> str:
    """Return what is wrong with a text that is no quantity, where more can be said than that."""
    if _NO_NUMBER.fullmatch(text):
        return f'"{text[:40]}" is not a number that anything can be held to; {_no_limit(text)}'
    if _COMMA.fullmatch(text):
        shown = text[:40]
        written = shown.replace(",", ".", 1)
        return f'"{shown}" is not a quantity: a comma may be decimal or part thousands; write "{written}"'
    if _OTHER_MINUS.match(text.lstrip()):
        return f'"{text[:40]}" is not a quantity: its minus is another sign; write "{_OTHER_MINUS.sub("-", text)[:40]}"'
    match = _NUMBER_AND_WORD.fullmatch(text)
    if match is not None and match[1] not in COMMON_UNITS:
        likely = nearest(match[1], COMMON_UNITS) or "write one that it does, such as mm, mil, g, deg, s or N"
        return f'"{text[:40]}": "{match[1][:20]}" is not a unit that capcheck knows; {likely}'
    if (power := _POWER.fullmatch(text)) is not None:
        exponent = power[2] or {"²": "2", "³": "3"}[power[3]]
        return f'"{text[:40]}" is not a quantity: a power is written **; write "{power[1]}**{exponent}"'
    return ""


def _no_limit(text: str) -> str:
    if "nan" in text.casefold():
        return "a comparison with it is never true: state the limit, or leave the comparison out"
    return "for no limit leave the comparison out, or ignore the rule"
