"""Columns of a bill of materials that list references together: of top and bottom, or of a list in halves."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from capcheck.intake.tables.content import Content
from capcheck.intake.tables.header_words import Role, Title
from capcheck.lexicon import Concept

_MOSTLY: Final = 0.8
_LEAST_CLAIM: Final = 1.5
_SIDES: Final = frozenset({Concept.TOP, Concept.BOTTOM, Concept.SIDE})
_BESIDE_SIDES: Final = frozenset({Concept.FITTED, Concept.PART, Concept.POSITION, Concept.ASSEMBLY})


def reference_columns(titles: Sequence[Title], contents: Sequence[Content]) -> list[int]:
    """Return the columns that list references, by title and cells, where there are several; else none.

    A column without a title goes on with the one before it, as below a title of two merged cells.
    """
    found: list[int] = []
    for i, (title, content) in enumerate(zip(titles, contents, strict=True)):
        if content.reference_list < _MOSTLY or content.prefix < _MOSTLY:
            continue
        named = title.strongest is Role.REF and title.claims[Role.REF] >= _LEAST_CLAIM
        of_a_side = bool(title.concepts & _SIDES) and title.concepts <= _SIDES | _BESIDE_SIDES
        goes_on = not title.words and bool(found) and found[-1] == i - 1
        if named or of_a_side or goes_on:
            found.append(i)
    return found if len(found) > 1 else []
