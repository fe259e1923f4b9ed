"""Expressions as people write them, put into what ``ast`` reads: words of the language become signs of equal length.

``part.value starts with 'LM'`` and ``count(part, where part.height > '5 mm')`` are no Python. The words are exchanged
for signs that a rule may not use otherwise, so that each piece of an expression still stands where it was written.
Slips that have nothing to do with facts are told here.
"""

from __future__ import annotations

import re
from typing import Final

from capcheck.values import pattern

WORDS: Final = {"@": "starts with", "<<": "ends with", ">>": "contains", "^": "matches"}
"""The tests of a text, by the sign that stands for each."""
_SIGN_OF: Final = {word: sign for sign, word in WORDS.items()}

_TEXT: Final = r"'[^']*'|\"[^\"]*\""
_PIECES: Final = pattern(
    rf"(?P<text>{_TEXT})"
    r"|(?P<test>\b(?:starts with|ends with|contains|matches)\b)"
    r"|(?P<comma>, ?)?(?P<gap> ?)\bwhere\b(?P<after> ?)"
    r"| of (?P<whole>[a-z]+)\b"
)
_BESIDE_TEXTS: Final = pattern(rf"({_TEXT})")
_SLIPS: Final = (
    (r"(?<![<>=!:])=(?![=<>])", "a single = compares nothing; write =="),
    (r"=>", "write >="),
    (r"=<", "write <="),
    (r"<>", "write !="),
    ("≤", "write <="),
    ("≥", "write >="),
    ("≠", "write !="),
    ("[×·]", "write * to multiply"),
    ("[−–]", "write - (the hyphen) to subtract"),
    ("[‘’“”„]", "texts stand in straight quotes: '3 mm'"),
    (r"&&?", "write and"),
    (r"\|\|?", "write or"),
    (r"!(?!=)", "write not"),
    (r"\d,\d+ ?(?:mm|cm|m|um|µm|mil|g|kg|s|N)\b", "a decimal has a point and a quantity stands in quotes: '1.2 mm'"),
    (r"\bthen\b", "write the value first: '2 mm' if board.is_panel else '3 mm'"),
    (r"=?~|\blike\b", "write matches, with * for anything and # for a digit"),
    (r"\bbetween\b", "write '1 mm' <= part.height <= '2 mm'"),
    (r"\*\*|//|@|<<|>>|\^|~|%|:=", "rules know + - * /"),
)

_FOREIGN: Final = ("@", "^", "<<", ">>", "&", "|", "~", "%", "**", "//")
_NEEDED: Final = ("where", "matches", "contains", " with", " of ")
"""Without one of these no word is to be exchanged."""


def spelled(text: str) -> str:
    """Return *text* with the spaces put right that the words of the language need around them."""
    if "where(" not in text:
        return " ".join(text.split())
    pieces = _BESIDE_TEXTS.split(" ".join(text.split()))
    return "".join(
        piece if number % 2 else re.sub(r"\bwhere\(", "where (", piece) for number, piece in enumerate(pieces)
    )


def may_slip(text: str) -> bool:
    """Whether *text* holds a sign that is Python, but not of this language; others are told where they do not parse."""
    return any(sign in text for sign in _FOREIGN)


def slip(text: str) -> str:
    """Return what is wrong with the signs of an expression, and what to write; empty where nothing is."""
    bare = "".join(" " * len(p) if n % 2 else p for n, p in enumerate(_BESIDE_TEXTS.split(text)))
    for sign, cure in _SLIPS:
        found = re.search(sign, bare)
        if found is not None:
            return f'"{found[0].strip()}" is not allowed in a rule; {cure}'
    return ""


def as_python(text: str) -> str:
    """Return *text*, as :func:`spelled` gives it, for ``ast``: of the same length, texts in quotes untouched."""
    if not any(word in text for word in _NEEDED):
        return text

    def put(match: re.Match[str]) -> str:
        whole = match[0]
        if match["text"] is not None:
            return whole
        if match["test"] is not None:
            return _SIGN_OF[whole].ljust(len(whole))
        if match["whole"] is not None:
            return f",of={match['whole']}"
        if not match["after"] or not (match["comma"] or match["gap"]):
            return whole  # a fact or a slip of that name: what reads it will say so
        begin = (match["comma"] or ",") + (match["gap"] if match["comma"] else "")
        return f"{begin}where="

    return str(_PIECES.sub(put, text))
