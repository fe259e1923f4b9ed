"""The order of a body's sides, as a title, a cell or a description names it: ``LxWxH``, ``Höhe × Breite × Tiefe``."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Final

from capcheck.lexicon.sorts import Concept, vocabulary
from capcheck.lexicon.words import fold
from capcheck.values import pattern

TIMES: Final = r"[x×*✕╳хХ]"
"""The signs of multiplication, as a class of a regular expression."""
SIDE_OF_LETTER: Final[Mapping[str, str]] = {"l": "L", "w": "W", "b": "W", "h": "H", "t": "T", "d": "D"}
"""The side that a letter beside a number stands for: a length, a width, a height, a thickness or depth, a diameter."""
_LETTER: Final = r"(?:[lwbhtd](?![^\W\d_x])|[øØ⌀])"
_OF_CONCEPT: Final[Mapping[Concept, str]] = {Concept.LENGTH: "L", Concept.WIDTH: "W", Concept.HEIGHT: "H"}
_LONGEST: Final = 1000


def _word() -> str:
    titles = vocabulary().titles
    return "|".join(str(titles[concept]) for concept in _OF_CONCEPT)


AXES: Final = pattern(
    lambda: (
        rf"(?i)(?<![^\W\d_]){_LETTER}\s*(?:{TIMES}\s*{_LETTER}\s*){{1,2}}(?![^\W\d_])"
        rf"|(?<![^\W\d_])[lwbh]\s*[/,]\s*[lwbh]\s*[/,]\s*[lwbht](?![^\W\d_])"
        r"|(?<![^\W\d_])(?:l[wb]h|[wb]lh|[wb]hl|h[wb]l|hl[wb])(?![^\W\d_])"
        rf"|(?:{_word()})(?:\s*(?:{TIMES}|/)\s*(?:{_word()})){{1,2}}"
    )
)
"""The order of the sides in a text: ``LxWxH``, ``Länge × Breite × Höhe``, ``L/W/H``."""
_MAY_NAME: Final = pattern(
    rf"(?i)(?:{TIMES}|[/,])\s*[^\W\d_]|(?<![^\W\d_])(?:l[wb]h|[wb]lh|[wb]hl|h[wb]l|hl[wb])(?![^\W\d_])"
)
_SIDE: Final = pattern(lambda: rf"{_word()}|[lwbhtd](?![^\W\d_x])|[lwbh](?=[lwbh]{{1,2}}(?![^\W\d_]))|[øØ⌀]")


def axes_of(text: str) -> str:
    """Return the sides in the order that *text* names them, a letter each; blank where it names no order.

    L is the length, W the width, H the height, D a diameter; see :func:`sides_named`.
    """
    folded = fold(text) if len(text) < _LONGEST else ""
    # The whole pattern holds words of all languages, and is built only for texts that may name an order.
    named = AXES.search(folded) if _MAY_NAME.search(folded) else None
    if named is None:
        return ""
    return sides_named("".join(_side(match[0]) for match in _SIDE.finditer(named[0])))


def sides_named(letters: str) -> str:
    """Return each of *letters* as the side it stands for among the others; blank where two stand for one.

    T is the depth beside a height, and else the thickness; D beside two sides is the depth, and else a diameter.
    """
    found = letters.replace("T", "W" if "H" in letters else "H")
    if len(missing := set("LWH") - set(found)) == 1 and found.count("D") == 1:
        found = found.replace("D", missing.pop())
    if found.startswith("LL"):
        found = f"LW{found[2:]}"  # longueur x largeur
    if found.count("W") > 1 and "L" not in found:
        found = found.replace("W", "L", 1)
    return found if len(set(found)) == len(found) > 1 else ""


@cache
def _sides_by_word() -> Mapping[str, str]:
    titles = vocabulary().titles
    return {word: letter for concept, letter in _OF_CONCEPT.items() for word in titles[concept].spelt}


def _side(word: str) -> str:
    return _sides_by_word().get(word) or SIDE_OF_LETTER.get(word.lower(), "D")
