"""Texts from the input in Markdown: nothing in them is taken for markup, a mention, a link or an issue."""

from __future__ import annotations

from typing import Final

from capcheck.values import pattern, visible

_PUNCTUATION: Final = pattern(r"([\\`*_\[\]()<>#!|~&$@{}^]|:(?=[\w+-]+:))")
_AT_THE_START: Final = pattern(r"^(\s*)(?:([-+=])|(\d+)([.]))")
_LIVELY: Final = pattern(r"(?i)(\\[@#]|\bwww(?=\.)|\bGH(?=-)|\b(?:https?|ftp|mailto|xmpp)(?=\\?:))")
"""What a forge makes a mention, an issue or a link of, even where its signs are escaped."""
_BACKTICKS: Final = pattern(r"`+")


def escaped(text: str) -> str:
    """Return *text* with its markup escaped; an empty comment parts what a forge would turn into a link."""
    shown = _PUNCTUATION.sub(r"\\\1", visible(text))
    shown = _AT_THE_START.sub(lambda m: f"{m[1]}\\{m[2]}" if m[2] else f"{m[1]}{m[3]}\\{m[4]}", shown)
    return _LIVELY.sub(r"\1<!-- -->", shown)


def code(text: str) -> str:
    """Return *text* as code, for references and part numbers: nothing is read in it but its end.

    A text with pipes is escaped instead, since a table would be parted by them even within code.
    """
    shown = visible(text)
    if "|" in shown or "\\" in shown or not shown.strip():
        return escaped(shown)
    longest = max((len(run) for run in _BACKTICKS.findall(shown)), default=0)
    fence = "`" * (longest + 1)
    space = " " if longest or (shown[0] == " " and shown[-1] == " ") else ""
    return f"{fence}{space}{shown}{space}{fence}"
