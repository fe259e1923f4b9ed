"""Resistors, capacitors and coils whose value holds a word where others state figures alone: *ausgelassen*.

Such a word, also behind a figure, is the name of a sort of part, as a ferrite or a jumper, or it says something of
whether the part is fitted, in whatever language.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from capcheck.intake.tables import Role, prefix_of, says_not_fitted, words_beside_what_it_is
from capcheck.lexicon import fold, is_named, vocabulary
from capcheck.model import BomLine, Discrepancy, Placements, Severity, Topic, say
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.intake.placements import PlacementColumns

_LETTERS: Final = frozenset("RCL")
_LETTERS_ALONE: Final = pattern(r"[(\[]?[^\W\d_][^\W\d_./']*[^\W\d_][)\],.!?]?|[\u3040-\u9fff]+")
_OTHERS: Final = 3
"""So many parts with figures are needed for each with the word."""
_LONGEST: Final = 60
_SORT: Final = pattern(lambda: f"{vocabulary().remarks.sorts}|{vocabulary().remarks.classes}")


def values_without_figure(
    files: Sequence[PlacementColumns], placed: Placements, lines: Sequence[BomLine]
) -> list[Discrepancy]:
    """Return a record for each word that a list states as the value of a few fitted resistors, capacitors or coils."""
    parts = {ref for ref, on, is_part in zip(placed.ref, placed.fitted, placed.is_part, strict=True) if on and is_part}
    told: dict[str, dict[str, None]] = {}
    for values in (_of_placements(files), ((ref, line.value) for line in lines for ref in line.refs)):
        for word, refs in _words([(ref, value.strip()) for ref, value in values if value and ref in parts]):
            told.setdefault(word, {}).update(dict.fromkeys(refs))
    return [
        Discrepancy(
            Topic.ROW_IN_QUESTION,
            say("compare.row in question", why=say("compare.no value", text=word[:_LONGEST])),
            tuple(refs),
            severity=Severity.STOP,
        )
        for word, refs in told.items()
    ]


def _of_placements(files: Sequence[PlacementColumns]) -> Iterator[tuple[str, str]]:
    for file in files:
        if Role.VALUE in file.texts:
            codes, texts = file.texts[Role.VALUE]
            yield from ((ref, texts[code]) for ref, code in zip(file.ref, codes.tolist(), strict=True))


def _words(values: Sequence[tuple[str, str]]) -> Iterator[tuple[str, list[str]]]:
    """Yield each word of a list of values with its references, where most parts with their letter have figures.

    Of words behind a figure those count where the figures of most resistors, capacitors and coils have none.
    """
    figures: Counter[str] = Counter()
    behind: dict[str, list[str]] = {}
    words: dict[tuple[str, str], list[str]] = {}
    for ref, value in values:
        letter = prefix_of(ref)
        if letter not in _LETTERS:
            continue
        if any(map(str.isdigit, value)):
            figures[letter] += 1
            if _has_words(value):
                behind.setdefault(value, []).append(ref)
        elif _is_a_word(value):
            words.setdefault((letter, value), []).append(ref)
    for (letter, word), refs in words.items():
        if _OTHERS * len(refs) <= figures[letter]:
            yield word, refs
    if (1 + _OTHERS) * sum(map(len, behind.values())) <= figures.total():
        yield from behind.items()


def _has_words(value: str) -> bool:
    """Whether words stand behind the figure of a value that do not say which sort of part it is."""
    if " " not in value or says_not_fitted(value):
        return False
    return any(_LETTERS_ALONE.fullmatch(word) for word in words_beside_what_it_is(value).split())


def _is_a_word(value: str) -> bool:
    if not any(map(str.isalpha, value)) or says_not_fitted(value):
        return False
    return (is_named(value) or value.isalpha()) and _SORT.search(fold(value)) is None
