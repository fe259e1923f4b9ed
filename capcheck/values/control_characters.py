"""Characters that would hide or break a text: shown as signs of their own, in every format for people."""

from __future__ import annotations

from typing import Final

from capcheck.values.patterns import pattern

_SIGNS: Final = {
    **{code: chr(0x2400 + code) for code in range(0x20)},
    0x7F: "\u2421",
    **{code: f"⟨{code:04X}⟩" for code in (*range(0x80, 0xA0), 0x2028, 0x2029, 0xFFFE, 0xFFFF)},
    **{code: f"⟨{code:04X}⟩" for code in (*range(0x202A, 0x202F), *range(0x2066, 0x206A))},
    **{code: f"⟨{code:04X}⟩" for code in (0x200B, 0x2060, 0xFEFF, *range(0xE0000, 0xE0080))},
}
"""Control characters as their Unicode pictures (``␀`` … ``␡``); those without a picture by number: ``⟨0085⟩``."""
_COMMAND: Final = pattern(r"(?m)^([ \t]*)(?=::|##(?:vso)?\[)")
_FIRST_SURROGATE: Final = 0xD800
_LAST_SURROGATE: Final = 0xDFFF


def visible(text: str) -> str:
    """Return *text* with every control character as a visible sign, and what turns the direction of writing.

    The marks that Arabic and Hebrew texts carry of themselves stay as they are; an override would show one text as
    another.

    A terminal then obeys no escape sequence of a part number, and HTML and spreadsheets can carry the text.
    """
    if text.isprintable():
        return text
    shown = text.translate(_SIGNS)
    if any(_FIRST_SURROGATE <= ord(c) <= _LAST_SURROGATE for c in shown):
        shown = "".join(f"⟨{ord(c):04X}⟩" if _FIRST_SURROGATE <= ord(c) <= _LAST_SURROGATE else c for c in shown)
    return shown


def visible_lines(text: str) -> str:
    """Return *text* with every control character but the ends of its lines as a visible sign."""
    return "\n".join(map(visible, text.split("\n")))


def inert_lines(text: str) -> str:
    """Return a text for people that neither a terminal nor a build service obeys, whatever a customer's cell holds.

    Services take a line for a command that begins with two colons or with ``##[``: it gets a dot before it.
    """
    return _COMMAND.sub(r"\1·", visible_lines(text))


def in_toml(text: str) -> str:
    """Return a text as a string of TOML, in quotes: what would end it, or cannot be seen, is escaped."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    if escaped.isprintable():
        return f'"{escaped}"'
    return '"' + "".join(c if c.isprintable() else f"\\U{ord(c):08X}" for c in escaped) + '"'


def cut(text: str, most: int) -> str:
    """Return *text*, or its beginning with the number of characters left out where it is longer than *most*."""
    if len(text) <= most:
        return text
    return f"{text[: max(most - 30, 1)]}… ({len(text) - max(most - 30, 1)} characters more)"
