"""Texts that name two parts of which one counts: ``1k or 0R``, ``SOIC-8 oder QFN-8``."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from capcheck.intake.compare.component_values import magnitude
from capcheck.lexicon import fold, vocabulary
from capcheck.model import Discrepancy, Severity, Topic, say
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.intake.placements import NamesBody
    from capcheck.model import PartName

_CHOICE: Final = pattern(lambda: str(vocabulary().lists.choice))
_WORD: Final = pattern(r"[^\s,;()/]{1,30}")
_BETWEEN: Final = " \t\n,;("
_LONGEST: Final = 300
_WIDEST: Final = 30


def choices_of_two(
    types: Sequence[PartName], used: Iterable[int], refs_of: Callable[[Iterable[int]], list[str]], names_body: NamesBody
) -> list[Discrepancy]:
    """Return a record for each text of the types in use that names two values or two packages of which one counts."""
    told: dict[str, list[int]] = {}
    for k in used:
        part = types[k]
        for text in dict.fromkeys((part.value, part.footprint, part.bom_package, part.description)):
            if _names_two(text[:_LONGEST], part.ref_prefix, names_body):
                told.setdefault(text, []).append(k)
    return [
        Discrepancy(
            Topic.TWO_VALUES, say("compare.one of two", text=text), tuple(refs_of(same)), severity=Severity.STOP
        )
        for text, same in told.items()
    ]


def _names_two(text: str, prefix: str, names_body: NamesBody) -> bool:
    folded = fold(text)
    if len(folded) != len(text) or not vocabulary().lists.choice.may_stand_in(folded):
        return False
    return any(_differ(one, other, prefix, names_body) for one, other in _pairs(text, folded))


def _pairs(text: str, folded: str) -> Iterator[tuple[str, str]]:
    """Yield the words before and behind each word for a choice."""
    for choice in _CHOICE.finditer(folded):
        before = text[: choice.start()].rstrip(_BETWEEN)
        behind = text[choice.end() :].lstrip(_BETWEEN)
        one, other = [*_WORD.finditer(before[-_WIDEST:])][-1:], _WORD.match(behind)
        if one and other and any(map(str.isdigit, one[0][0])) and any(map(str.isdigit, other[0])):
            yield one[0][0], other[0]


def _differ(one: str, other: str, prefix: str, names_body: NamesBody) -> bool:
    """Whether two words are two values of one sort of part, or two packages."""
    values = magnitude(one, prefix), magnitude(other, prefix)
    if None not in values:
        return values[0] != values[1]
    return fold(one) != fold(other) and names_body(one) and names_body(other)
