"""Quantities in JSON Schema, for editors: a number and one of the units of its dimension, as a pattern.

An editor then marks ``1.6 kg`` where a length is asked for, and ``1.6 mn``. The units are those of ``units.txt`` in the
spellings that people write; a test holds each of them to it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, Final

LENGTHS: Final = (
    "mm",
    "cm",
    "m",
    "um",
    "µm",
    "μm",
    "micron",
    "mil",
    "mils",
    "thou",
    "in",
    "inch",
    "inches",
    "millimeter",
)
MASSES: Final = ("g", "kg", "mg", "gram", "kilogram")
ANGLES: Final = ("deg", "degree", "°", "rad", "radian")
TIMES: Final = ("s", "sec", "second", "ms", "min", "minute", "h", "hr", "hour")
FORCES: Final = ("N", "newton", "mN", "kN")
SHARES: Final = ("%", "percent", "ppm")

_FORCE: Final = (1, 1, 0, -2)
_BASES: Final = (LENGTHS, MASSES, ANGLES, TIMES)
_DIGITS: Final = r"(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?"


def _one_of(words: tuple[str, ...]) -> str:
    return f"({'|'.join(map(re.escape, words))})"


def _power(words: tuple[str, ...], exponent: float) -> str:
    return _one_of(words) if exponent == 1 else rf"{_one_of(words)}\*\*{exponent:g}"


def _units(exponents: Sequence[float]) -> str:
    """Return the pattern of the units with these powers, in the order in which they are written: ``1/hour/m**2``."""
    if not any(exponents):
        return f"{_one_of(SHARES)}?"
    powers = list(zip(_BASES, exponents, strict=True))
    over = r"\s*\*\s*".join(_power(words, e) for words, e in powers if e > 0) or "1"
    under = "".join(rf"\s*/\s*{_power(words, -e)}" for words, e in reversed(powers) if e < 0)
    return f"({over}{under}|{_one_of(FORCES)})" if tuple(exponents) == _FORCE else f"{over}{under}"


def quantity_schema(exponents: Sequence[float], name: str, example: str, minimum: float | None) -> dict[str, Any]:
    """Return the JSON Schema of a quantity of these powers that is at least *minimum*, in canonical units."""
    sign = "[+-]?" if minimum is None or minimum < 0 else "[+]?"
    text = {
        "type": "string",
        "pattern": rf"^\s*{sign}{_DIGITS}\s*{_units(exponents)}\s*$",
        "examples": [example],
        "description": f"a {name}, as a number with its unit",
    }
    if any(exponents):
        return text
    number = {"type": "number"} if minimum is None else {"type": "number", "minimum": minimum}
    return {"anyOf": [number, text | {"description": "a number, or a share such as 5 %", "examples": ["5 %"]}]}


def any_quantity_schema(dimensions: Iterable[Sequence[float]]) -> dict[str, Any]:
    """Return the JSON Schema of a quantity of any of these dimensions, or a bare number."""
    units = "|".join(dict.fromkeys(map(_units, dimensions)))
    text = {"type": "string", "pattern": rf"^\s*[+-]?{_DIGITS}\s*({units})\s*$", "examples": ["0.5 mm", "30 g"]}
    return {"anyOf": [{"type": "number"}, text]}
