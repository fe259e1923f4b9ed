"""What a number format of a spreadsheet adds to the numbers of its cells: a unit, other text, a scale by thousands."""

from __future__ import annotations

import itertools
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import Final

from capcheck.values import pattern

_TOKEN: Final = pattern(
    r"\"(?P<quoted>[^\"]*)\"|\\(?P<escaped>.)|\[\$(?P<money>[^\]-]*)[^\]]*\]|(?P<bracket>\[[^\]]*\])|[_*].|(?P<other>.)",
)
_DIGITS: Final = frozenset("0#?.,/")
_PADDED: Final = pattern(r"0{2,9}")
"""Zeros alone show a number with zeros before it: 402 by ``0000`` is 0402."""
_CONDITION: Final = pattern(r"\[[<>=]")
_DATE_LETTERS: Final = frozenset("ymdhs")
_THOUSAND: Final = 1000
_ROUNDED: Final = Decimal("0.05")
_ROUNDED_SHARE: Final = Decimal("0.1")
"""By how much a number that is shown whole is another one than the cell's."""
_PLAIN: Final = ("General", "Standard")


def adds_text(code: str) -> bool:
    """Whether a format adds letters to a number, or may show another number than the one that is stored."""
    section = _section(code, negative=False)
    before, behind, scale = _read(section)
    if not _shows_number(code) or _PADDED.fullmatch(section.strip()):
        return True
    if _figures_within(section, negative=False) or _is_whole(section):
        return True
    return bool(_CONDITION.search(code)) or scale != 1 or any(map(str.isalpha, before + behind)) or "°" in behind


def as_displayed(value: float, text: str, code: str) -> str:
    """Return a number as its format shows it, in full: 0.5 by ``0.00" mm"`` is ``0.5 mm``; *text* is its own text.

    Where it shows none, or another number and no unit with it, or one of several forms, both are told, or the number
    and its format: neither is meant for certain.
    """
    section = _section(code, negative=value < 0)
    if _CONDITION.search(code):
        return f"{text} [{code}]"
    before, behind, scale = _read(section)
    if not _shows_number(code):
        return f"{text} (shown as {before + behind or 'nothing'})"
    if _figures_within(section, negative=value < 0):
        return f"{text} [{code}]"
    if text.isdecimal() and (padded := _PADDED.fullmatch(section.strip())):
        return text.zfill(len(padded[0]))
    shown = text if scale == 1 else format((Decimal(text) * scale).normalize(), "f")
    words = any(map(str.isalpha, before + behind)) or scale > 1
    if scale != 1 and not words:
        return f"{text} (shown as {shown})"
    whole = Decimal(text).to_integral_value(ROUND_HALF_UP) if scale == 1 and _is_whole(section) else Decimal(text)
    if _is_another(Decimal(text), whole):
        return f"{text} (shown as {f'{before}{whole}{behind}'.strip()})"
    return f"{before.replace('-', '')}{shown}{behind}".strip()


def _is_another(exact: Decimal, shown: Decimal) -> bool:
    """Whether rounding to what is shown makes another number of it: 2 of 1.6, but not 12 of 12.4."""
    return abs(exact - shown) > max(_ROUNDED, _ROUNDED_SHARE * abs(exact))


def like_shown(text: str, shown: str) -> str:
    """Return a number in full with what stands round it where it is *shown*; both where they are no one number."""
    number = _NUMBER.search(shown)
    if number is None:
        return f"{text} (shown as {shown})"
    plain = number[0].replace("\N{MINUS SIGN}", "-")
    exact = Decimal(text)
    around = shown[: number.start()], shown[number.end() :]
    scales: tuple[Decimal, ...] = (Decimal(100),) if "%" in shown else (Decimal(1),)
    if any(map(str.isalpha, "".join(around))) and "%" not in shown:
        scales = (*scales, Decimal(1) / _THOUSAND)
    digits, _, power = plain.upper().partition("E")
    for scale, mark in itertools.product(scales, ".,"):
        spelt = "".join(digits.replace("," if mark == "." else ".", "").split()).replace(mark, ".")
        if spelt.count(".") > 1:
            continue
        stated = Decimal(spelt).scaleb(int(power or 0))
        half = Decimal("0.51").scaleb(int(power or 0) - len(spelt.partition(".")[2]))
        if abs(exact * scale - stated) <= half and not _is_another(exact * scale, stated):
            in_full = text if scale == 1 else format((exact * scale).normalize(), "f")
            in_full = _with_leading_zeros(in_full, digits)
            return f"{around[0]}{in_full}{around[1]}".strip()
    return f"{text} (shown as {shown})"


_NUMBER: Final = pattern(r"[-\N{MINUS SIGN}]?[0-9](?:[0-9.,\s]*[0-9])?(?:[eE][-+]?[0-9]{1,3}(?![0-9]))?")


def _with_leading_zeros(text: str, shown: str) -> str:
    """Return a whole number with the zeros that it is shown with before it: 402 shown as 0402 is a size code."""
    return shown if shown[:1] == "0" and shown.isdecimal() and shown.lstrip("0") == text else text


def _shows_number(code: str) -> bool:
    """Whether a format has a place for the digits of a number above zero, or for those of a date."""
    section = _section(code, negative=False)
    if any(word in section for word in _PLAIN) or not code.strip():
        return True
    others = [token["other"] or token["bracket"] or "" for token in _TOKEN.finditer(section)]
    return any(c in "0#?@" or c.lower() in _DATE_LETTERS for other in others for c in other)


@cache
def _figures_within(section: str, *, negative: bool) -> bool:
    r"""Whether a format writes figures of its own, parts those of the number, or makes one above zero negative.

    16 by ``0\.0`` is shown as 1.6, and 1.6 by ``"1"0.0`` as 11.6.
    """
    begun = parted = power = False
    for token in _TOKEN.finditer(section.replace("General", "0").replace("Standard", "0")):
        literal = token["quoted"] if token["quoted"] is not None else token["escaped"] or token["money"]
        text = literal or token["other"] or ""
        if literal is None and text in {*_DIGITS}:
            if parted:
                return True
            begun = True
        elif literal is None and (text in {"E", "e"} or (power and text in {"+", "-"})):
            power = True
        elif literal is None and text.lower() in _DATE_LETTERS:
            return False
        elif any(map(str.isdigit, text)) or (text.strip() == "-" and not begun and not negative):
            return True
        elif text.strip(" '%"):
            parted = begun
    return False


@cache
def _is_whole(section: str) -> bool:
    """Whether a format shows whole numbers alone."""
    others = [token["other"] for token in _TOKEN.finditer(section) if token["other"]]
    named = any(word in section for word in _PLAIN) or any(c.lower() in _DATE_LETTERS for c in others)
    return not named and any(c in "0#?" for c in others) and not any(c in "./Ee@%" for c in others)


def _section(code: str, *, negative: bool) -> str:
    """Return the part of a format for numbers above or below zero."""
    parts, quoted, start = [], False, 0
    for at, letter in enumerate(code):
        if letter == '"':
            quoted = not quoted
        elif letter == ";" and not quoted and code[at - 1 : at] != "\\":
            parts.append(code[start:at])
            start = at + 1
    parts.append(code[start:])
    return parts[1] if negative and len(parts) > 1 else parts[0]


def _read(section: str) -> tuple[str, str, Decimal]:
    """Return the text before a number and behind it, and what the number is multiplied with."""
    before: list[str] = []
    behind: list[str] = []
    last, scale, general = "", Decimal(1), section.replace("General", "0").replace("Standard", "0")
    commas = 0
    for token in _TOKEN.finditer(general):
        literal = token["quoted"] if token["quoted"] is not None else token["escaped"] or token["money"]
        other = token["other"]
        if literal is not None:
            (behind if last else before).append(literal)
        elif other and other in _DIGITS:
            last = other
            commas = commas + 1 if other == "," else 0 if other in "0#?" else commas
        elif other and other.lower() in _DATE_LETTERS:
            return "", "", Decimal(1)
        elif other == "%":
            scale *= 100
            behind.append(other)
        elif other and (other.isspace() or other in "°µ'") and last:
            behind.append(other)
    if commas and last:
        scale /= Decimal(_THOUSAND) ** commas
    return "".join(before), "".join(behind), scale
