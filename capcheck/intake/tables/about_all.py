"""Lines beside a list that speak of all parts of a sort, of the list itself, or of boards in one piece.

*All resistors are 1206*, *heights are wrong*, *4 boards per panel*: what such a line states is in no row, so nobody
would see it where rows alone are read.
"""

from __future__ import annotations

from typing import Final

from capcheck.intake.tables.fitted import says_not_fitted
from capcheck.lexicon import Concept, fold, vocabulary
from capcheck.values import pattern

_LONGEST: Final = 200
_CODE: Final = pattern(
    r"(?<![\d.,])(?:01005|0201|0402|0603|0805|1008|1206|1210|1806|1808|1812|2010|2220|2512)(?![\d.,]*\d)"
)
"""Sizes of chips, as EIA and makers call them: common practice, no source."""
_BY: Final = r"\d{1,2}\s{0,2}[x×*]\s{0,2}\d{1,2}(?!\d|[.,]\d)"
_NUMBER: Final = pattern(r"\d{1,3}(?:[.,]\d{1,3})?\s{0,2}(?:mm|cm|mils?|in|inch)(?![a-z])")
_CLOSE: Final = 60
"""Letters before a word of doubt in which stands what is in doubt."""
_NEAR: Final = r"[^.;\n]{0,40}"
_STATED: Final = (
    Concept.HEIGHT,
    Concept.LENGTH,
    Concept.WIDTH,
    Concept.SIZE,
    Concept.PACKAGE,
    Concept.FOOTPRINT,
    Concept.ROTATION,
    Concept.POSITION,
    Concept.VALUE,
    Concept.QUANTITY,
    Concept.NUMBER,
    Concept.MASS,
)
"""What a list states, and a line beside it may say does not hold."""
_ANSWERED: Final = pattern(
    lambda: (
        rf"[:=]\s*(?:\d+|{vocabulary().answers.no}|{vocabulary().answers.unstated}|{vocabulary().answers.in_doubt})\W*$"
    )
)
"""A field of a form, such as ``Components: 12`` or ``Part number: TBD``, which says it of the document."""
_NONE: Final = pattern(
    lambda: rf"{vocabulary().answers.no}\s(?:\w+\s)?{vocabulary().remarks.classes}{_NEAR}{vocabulary().fitted.fitted}"
)
_SIDE_OFF: Final = pattern(
    lambda: (
        rf"(?:{_side()})\W{{0,3}}(?:\w+\W){{0,2}}(?:{vocabulary().fitted.loose})"
        rf"|(?:{vocabulary().fitted.loose})\W{{0,3}}(?:\w+\W){{0,2}}(?:{_side()})"
    )
)
_OTHER_PANEL: Final = pattern(
    lambda: (
        rf"{vocabulary().remarks.other_panel}[ _-]?{vocabulary().remarks.panel}"
        rf"|{vocabulary().remarks.panel}[ _-]?{vocabulary().remarks.other_panel}"
        rf"|(?:{vocabulary().answers.no}|{vocabulary().lists.exception}|{vocabulary().fitted.denied})"
        rf"\s(?:\w+\s)?(?:{vocabulary().remarks.panel}|{vocabulary().remarks.panelled})"
    )
)
"""A panel of something else, or none."""
_SEVERAL: Final = pattern(
    lambda: (
        rf"{vocabulary().remarks.panel}{_NEAR}(?:{_several()})|(?:{_several()}){_NEAR}{vocabulary().remarks.panel}"
        rf"|{vocabulary().remarks.panelled}"
    )
)


def _side() -> str:
    return f"{vocabulary().sides.top}|{vocabulary().sides.bottom}"


def _several() -> str:
    words = vocabulary().remarks
    return rf"{_BY}|(?<![\d.,])\d{{1,2}}[\s-]{{0,2}}{words.circuits}|{words.panel_rim}"


def speaks_of_panel(text: str) -> bool:
    """Whether a line says that boards come in one piece: ``4 boards per panel``, ``panelized 3 x 2``."""
    folded, words = fold(text[:_LONGEST]), vocabulary().remarks
    if not (words.panel.may_stand_in(folded) or words.panelled.may_stand_in(folded)) or _ANSWERED.search(folded):
        return False
    return _SEVERAL.search(_OTHER_PANEL.sub(" ", folded)) is not None


def speaks_of_all(text: str) -> bool:
    """Whether a line says something of all parts of a sort, or of a side, or that what a list states does not hold."""
    if not any(map(str.isalpha, text)) or len(text) > _LONGEST:
        return False
    folded, words = fold(text), vocabulary()
    if _ANSWERED.search(folded):
        return False
    if words.remarks.classes.search(folded) is not None and (
        _tells(folded) or says_not_fitted(text) or _NONE.search(folded)
    ):
        return True
    fault = words.remarks.faulty.search(folded) or words.answers.in_doubt.search(folded)
    if fault is not None:
        before = folded[max(0, fault.start() - _CLOSE) : fault.start()]
        if any(words.titles[what].search(before) for what in _STATED):
            return True
    return words.fitted.loose.may_stand_in(folded) and _SIDE_OFF.search(folded) is not None


def _tells(folded: str) -> bool:
    """Whether a folded line states of parts a size, a height, a side, how they are mounted, or that it is open."""
    words = vocabulary()
    if _CODE.search(folded) is not None:
        return True
    if any(
        told.search(folded)
        for told in (
            words.mountings.drilled,
            words.mountings.by_hand,
            words.answers.in_doubt,
            words.remarks.faulty,
            words.fitted.loose,
        )
    ):
        return True
    if words.remarks.every.search(folded) and (words.sides.top.search(folded) or words.sides.bottom.search(folded)):
        return True
    is_tall = words.titles[Concept.HEIGHT].search(folded) or words.lines.tall.search(folded)
    return is_tall is not None and _NUMBER.search(folded) is not None
