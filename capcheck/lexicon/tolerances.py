"""How far above a stated length a tolerance behind it lets it go: ``±0.2``, ``+0.3/-0.1``, ``-0.1 +0.3``, ``±10 %``."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from capcheck.values import pattern

_MINUS: Final = r"[-\u2010-\u2015\u2212]"
_SIGN: Final = rf"±|∓|\+\s?/?\s?{_MINUS}|{_MINUS}\s?/?\s?\+|\+|{_MINUS}"
_BEGIN: Final = pattern(
    r"(?i)\s?(?:mm|cm|µm|um|mils?|inch|in|\")?\s{0,2}[,;(\[]?\s?(?P<word>tol(?:eranz|erance)?\.?[\s:=]{0,2})?"
)
_ONE: Final = pattern(
    rf"(?i)(?P<sign>{_SIGN})?\s?(?P<number>[0-9]{{1,3}}(?:[.,][0-9]{{1,4}})?|\.[0-9]{{1,4}})(?![0-9.,]*[0-9])"
    r"\s?(?P<unit>%|(?:mm|cm|µm|um|mils?|inch|in)(?![^\W\d_])|\")?(?!\s?(?:[°℃ω]|[ckvwfha](?![^\W\d_])|ppm|ohm|[nuµp][fh]))"
)
_BETWEEN: Final = pattern(r"\s?[/;,|]?\s?")


class Tolerance(Struct, frozen=True):
    """By how much what is stated may be below and above its number, in the number's unit, and where that ends."""

    below: float
    above: float
    end: int
    says_above: bool
    """Whether it says itself how far above."""


def tolerance_at(text: str, end: int, value: float) -> Tolerance | None:
    """Return the tolerance of what is stated up to *end* of a text, ``-0.2``, ``+0.5``, ``(±0.3)``; None without one.

    Two numbers count whichever side stands first; of two to one side the greater.
    """
    begin = _BEGIN.match(text, end)
    if begin is None:
        return None
    at, most, least, told, says_above = begin.end(), 0.0, 0.0, 0, False
    for k in range(2):
        one = _ONE.match(text, at)
        if one is None or one["number"] is None or not (one["sign"] or (begin["word"] and not k)):
            break
        number = float(one["number"].replace(",", "."))
        number = value * number / 100 if one["unit"] == "%" else number
        is_both = one["sign"] is None or len(one["sign"]) > 1 or one["sign"] in "±∓"
        if is_both or one["sign"] == "+":
            most, says_above = max(most, number), True
        if is_both or one["sign"] != "+":
            least = max(least, number)
        told = one.end()
        between = _BETWEEN.match(text, told)
        at = between.end() if between is not None else told
    return Tolerance(least, most, told, says_above) if told else None


def above_by(text: str, end: int, value: float) -> tuple[float, int] | None:
    """Return by how much what is stated up to *end* may be above *value*, and where that ends, in the unit of *value*.

    None where no tolerance that lets it be above follows.
    """
    found = tolerance_at(text, end, value)
    return (found.above, found.end) if found is not None and found.says_above else None
