"""Which box an answer ticks, in whatever language it was asked, and what was written into the blanks of the box."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.lexicon import customers_language
from capcheck.report import customers_languages, questions_by_key
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.checking import Report

_BLANK: Final = "___"
_LONGEST: Final = 2_000
"""Letters up to which what came back may be the text of a box with its blanks filled in."""
_TICKS: Final = pattern(r"^\s*(?:[☐☑☒✓✔•-]|\[[ xX]?\]|[xX](?=\s))\s*")
_SPACES: Final = pattern(r"\s+")
_FIRST: Final = pattern(r"[^,;:、，：；]+")
_MEASURES: Final = pattern(r"[+-]?\d+(?:[.,]\d+)?\s*(?:mm|cm|inch|in|mil|\"|%)?")


class Ticked(Struct, frozen=True):
    """A box of a question by its number, and what stands in its blanks."""

    number: int
    fills: tuple[str, ...] = ()


Boxes = Mapping[str, Sequence[tuple[int, str]]]
"""For the key of a question the texts of its boxes in every language, each with the number of the box."""


def boxes_of_questions(report: Report) -> dict[str, list[tuple[int, str]]]:
    """Return the boxes of every question in every language."""
    found: dict[str, list[tuple[int, str]]] = {}
    for language in customers_languages():
        with customers_language(language):
            for question in questions_by_key(report).values():
                found.setdefault(question.key, []).extend(zip(question.numbers, question.boxes, strict=True))
    return found


def ticked(choice: str, answer: str, boxes: Iterable[tuple[int, str]]) -> Ticked | None:
    """Return the box that a choice or an answer in words means; None where it is none of them, or may be two."""
    known = list(boxes)
    for text, rest in ((choice, answer), (answer, "")):
        if text and (found := _one(text, rest, known)) is not None:
            return found
    return None


def _one(text: str, rest: str, known: Sequence[tuple[int, str]]) -> Ticked | None:
    lines = [line for line in _TICKS.sub("", text).split("\n") if line.strip()]
    if len(lines) != 1:
        return None
    whole = _folded(lines[0])
    for number, box in known:
        if whole == _folded(box):
            return Ticked(number, _filled(rest, box.count(_BLANK)) if _BLANK in box else ())
    for number, box in known if len(lines[0]) <= _LONGEST else ():
        if _BLANK in box and (match := _template(box).fullmatch(_SPACES.sub(" ", lines[0]).strip())):
            return Ticked(number, tuple(part.strip(" _") for part in match.groups()))
    # "yes" where one box alone begins so; a box that is no more than its first word was met above.
    begun = {number for number, box in known if (first := _FIRST.match(_folded(box))) and first[0].strip() == whole}
    return Ticked(begun.pop(), _filled(rest, 1)) if len(begun) == 1 else None


def _template(box: str) -> re.Pattern[str]:
    parts = [re.escape(_SPACES.sub(" ", part).strip()) for part in box.split(_BLANK)]
    return re.compile(r"\s*(.+?)\s*".join(parts), re.IGNORECASE)


def _filled(text: str, blanks: int) -> tuple[str, ...]:
    """Return what was written beside a box for its blanks: several measures for several of them."""
    if blanks < 2:
        return (text,) if text else ()
    measures = tuple(found.strip() for found in _MEASURES.findall(text))
    return measures if len(measures) == blanks else ()


def _folded(text: str) -> str:
    return _SPACES.sub(" ", _TICKS.sub("", text)).strip().rstrip(".").casefold()
