"""How far above a stated length a tolerance behind it lets it go: ``±0.2``, ``+0.3/-0.1``, ``-0.1 +0.3``, ``±10 %``."""

from __future__ import annotations

from typing import Final

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


def above_by(text: str, end: int, value: float) -> tuple[float, int] | None:
    """Return by how much what is stated up to *end* may be above *value*, and where that ends, in the unit of *value*.

    None where no tolerance that lets it be above follows. One to both sides counts whichever side stands first.
    """
    begin = _BEGIN.match(text, end)
    if begin is None:
        return None
    at, most, told = begin.end(), 0.0, 0
    for k in range(2):
        one = _ONE.match(text, at)
        if one is None or one["number"] is None or not (one["sign"] or (begin["word"] and not k)):
            break
        if one["sign"] is None or any(sign in one["sign"] for sign in "+±∓"):
            number = float(one["number"].replace(",", "."))
            most, told = max(most, value * number / 100 if one["unit"] == "%" else number), one.end()
        between = _BETWEEN.match(text, one.end())
        at = between.end() if between is not None else one.end()
    return (most, told) if told else None
