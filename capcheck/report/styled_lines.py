"""Lines of text with a style, wrapped at a width: what a terminal shows in colour and a file holds plain."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from typing import Final

from msgspec import Struct

WIDTH_WHEN_PIPED: Final = 120
ALL: Final = 10**9
"""So many lines that no list is cut short."""


class Line(Struct, frozen=True):
    """One line of a text, with the style it is printed in: a verdict's word, ``head``, ``dim`` or nothing."""

    text: str
    style: str = ""


def plain(lines: Iterable[Line]) -> str:
    """Return lines as a text without their styles."""
    return "".join(f"{line.text}\n" for line in lines)


def wrapped(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """Return *text* in lines of at most *width*, the first and the others indented as given; words stay whole."""
    return textwrap.wrap(
        text,
        width,
        initial_indent=first,
        subsequent_indent=rest or first,
        break_long_words=False,
        break_on_hyphens=False,
    ) or [first.rstrip()]
