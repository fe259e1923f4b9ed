"""Whether a line beside a list says how its numbers are to be read: *bottom side mirrored*, *coordinates of the panel*.

What every list says, such as angles counter-clockwise or an origin at the lower left, is no such remark.
"""

from __future__ import annotations

from typing import Final

from capcheck.intake.tables.in_doubt import is_in_doubt
from capcheck.lexicon import Concept, fold, vocabulary
from capcheck.values import pattern

_ORDINARY: Final = pattern(lambda: str(vocabulary().remarks.ordinary))
_ABOUT: Final = pattern(lambda: rf"(?:{vocabulary().remarks.on_data})(?![\W_]{{0,3}}{vocabulary().remarks.corner})")
_DENIED: Final = pattern(
    lambda: (
        rf"[:=]\s*(?:0|{vocabulary().answers.no}|{vocabulary().answers.not_mirrored}|{vocabulary().answers.unstated})\W*$"
    )
)
_OTHER_UNIT: Final = pattern(
    lambda: (
        rf"{vocabulary().titles[Concept.HEIGHT]}[^.;\n]{{0,20}}(?<![a-z])(?:in|en|:|=)\s{{0,2}}"
        rf"(?:cm|mils?|µm|um|{'|'.join(str(vocabulary().units[unit]) for unit in ('cm', 'um', 'mil', 'in'))})(?![a-z])"
        rf"|{vocabulary().lists.scaled}"
        rf"|{vocabulary().titles[Concept.HEIGHT]}\W{{0,3}}(?:±|\+\s?/?\s?-)\s?\d"
    )
)
"""A line that says in what the heights are counted that is no millimetre, or by how much they may be off."""
_LONGEST: Final = 200


def is_about_data(text: str) -> bool:
    """Whether a line says of the list beside it that its coordinates, angles, sides or sizes mean something special."""
    if not any(map(str.isalpha, text)) or len(text) > _LONGEST:
        return False
    folded = fold(text)
    may_scale = vocabulary().titles[Concept.HEIGHT].may_stand_in(folded) or (
        vocabulary().lists.scaled.may_stand_in(folded)
    )
    if may_scale and _OTHER_UNIT.search(folded):
        return True
    return turns_its_sense(folded)


def title_in_doubt(title: str) -> bool:
    """Whether a column's title says that its numbers are others than those of its plain name: ``Rotation offset``."""
    folded = fold(title[:_LONGEST])
    return turns_its_sense(folded) or is_in_doubt(title) or vocabulary().remarks.off_itself.search(folded) is not None


def turns_its_sense(folded: str) -> bool:
    """Whether a folded text says that places or angles mean something else: mirrored, clockwise, swapped."""
    if not vocabulary().remarks.on_data.may_stand_in(folded) or _DENIED.search(folded):
        return False
    return _ABOUT.search(_ORDINARY.sub(" ", folded)) is not None
