"""Rows below a header that are no data: remarks, rules, totals, headings of pages, titles."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from capcheck.intake.tables.content import is_reference_list
from capcheck.model import Said, say
from capcheck.values import pattern

_COMMENT: Final = pattern(r"#|//|;|!|\*{2,}|--(?!\d)")
_RULE: Final = pattern(r"[-=*_~+|.\s#:]{3,}")
TOTAL: Final = pattern(
    r"(?i)(?:grand |sub)?(?:totals?|sum|summe|gesamt\w*|somme|合計|小計|総計|end|eof|ende|fin)\b[\s:.]*.{0,40}"
)
_PAGE: Final = pattern(
    r"(?i)(?<![^\W_])(?:page|seite|blatt|sheet|folio|feuille)[\s:]*\d+(?:\s*(?:of|von|de|sur|/)\s*\d+)?\s*$"
)
_THINGS: Final = r"(?:parts?|components?|placements?|items?|records?|rows?|lines?|bauteile|positionen|composants|点)"
_SAID: Final = (
    r"(?:\s+(?:placed|listed|found|written|exported|processed|in|all|total|on|this|the|board|top|bottom|side))"
)
_COUNT: Final = pattern(
    rf"(?i)\d+\s+{_THINGS}{_SAID}{{0,5}}\W*|(?:(?:total|number|count|of|anzahl|nombre|de)\s+){{0,3}}{_THINGS}{_SAID}{{0,3}}\s*[:=]\s*\d+"
)
"""How many parts were listed, as a line below them says."""

COMMENT: Final = say("tables.comment")
TITLE: Final = say("tables.title")
"""Why a row that may title those below it is set apart."""


def why_aside(row: Sequence[str], width: int) -> Said | None:
    """Return why a row below a header of *width* cells is not data, or None."""
    filled = [c for c in (cell.strip() for cell in row) if c]
    if not filled:
        return say("tables.blank row")
    first = filled[0]
    if all(map(_RULE.fullmatch, filled)):
        return say("tables.ruled line")
    # A lone "#" or "-" in a cell beside others is data; a mark at the start of the row makes all of it a remark.
    if row[0].strip() and _COMMENT.match(first) and (len(filled) == 1 or len(first) > 1 or width <= 1):
        return COMMENT
    if TOTAL.fullmatch(first) and len(filled) <= max(3, width // 3):
        return say("tables.total or end mark")
    if len(filled) <= width / 2:
        text = " ".join(filled)
        if _PAGE.search(text):
            return say("tables.heading of a page")
        if _COUNT.fullmatch(text):
            return say("tables.total or end mark")
    if len(filled) == 1 and width > 3 and not (is_reference_list(first) and any(map(str.isdigit, first))):
        return TITLE
    return None
