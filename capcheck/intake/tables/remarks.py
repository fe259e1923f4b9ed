"""Rows below a header that are no data: remarks, rules, totals, headings of pages, titles."""

from __future__ import annotations

import string
from collections.abc import Sequence
from functools import cache
from typing import Final

from capcheck.intake.tables.content import is_reference_list
from capcheck.intake.tables.fitted import is_not_fitted_title, may_head_a_variant
from capcheck.intake.tables.named_parts import buys_a_part, parts_named
from capcheck.lexicon import fold, vocabulary
from capcheck.model import Said, say
from capcheck.values import pattern

_FEW: Final = 2
"""Cells that a heading may be written in."""
_COMMENT: Final = pattern(r"#|//|;|!|\*{2,}|--(?!\d)")
_RULE: Final = pattern(r"[-=*_~+|.\s#:]{3,}")
_TOTAL: Final = pattern(lambda: rf"{_total()}(?![0-9a-z_])[\s:.]*.{{0,40}}")
_PAGE: Final = pattern(
    lambda: (
        rf"(?<![^\W_]){vocabulary().lines.page}[\s:]*\d+(?:\s*(?:{vocabulary().lines.of}|/)\s*\d+)?\s*$"
        rf"|(?<![^\W_])\d+(?:\s*/\s*\d+)?\s*{vocabulary().lines.page}\s*$"
    )
)


def _count() -> str:
    lines = vocabulary().lines
    listed = rf"(?:\s+{lines.listed})"
    counted = rf"(?:{lines.counted}\s+)"
    return (
        rf"\d+\s*{lines.things}{listed}{{0,5}}\W*"
        rf"|{counted}{{0,3}}{lines.things}{listed}{{0,3}}\s*[:=]\s*\d+|{lines.total}\s*[:=]\s*\d+"
    )


_COUNT: Final = pattern(_count)
"""How many parts were listed, as a line below them says."""

_DIGITS: Final = pattern(r"\d{1,6}")


def listed_count(text: str) -> int | None:
    """Return how many parts a line below a list says it holds: ``Number of components: 25``; None for other lines."""
    digits = _DIGITS.search(text) if _counts(fold(text.strip())) else None
    return int(digits[0]) if digits else None


def _counts(folded: str) -> bool:
    lines = vocabulary().lines
    may_count = lines.things.may_stand_in(folded) or lines.total.may_stand_in(folded)
    return may_count and _COUNT.fullmatch(folded) is not None


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
    if is_total(first) and len(filled) <= max(3, width // 3) and not buys_a_part(filled):
        return say("tables.total or end mark")
    if len(filled) <= width / 2:
        text = fold(" ".join(filled))
        if _PAGE.search(text) and not buys_a_part(filled):
            return say("tables.heading of a page")
        if _counts(text) and not buys_a_part(filled):
            return say("tables.total or end mark")
    if 0 < len(filled) <= min(_FEW, width - 1) and all(map(_heads, filled)) and not parts_named(filled):
        return TITLE
    if len(filled) == 1 and width > 3 and not (is_reference_list(first) and any(map(str.isdigit, first))):
        return TITLE
    return None


def names_columns_anew(row: Sequence[str], header: Sequence[str]) -> bool:
    """Whether a row is a heading, beside which titles of the *header* stand again: "Mechanics" and "price with tax".

    A title counts where all of it stands there, or two words of it. A heading has no digit: a part's name may.
    """
    filled = [c for c in (cell.strip() for cell in row) if c]
    if len(filled) < _FEW or any(map(str.isdigit, "".join(filled))):
        return False
    titles = [fold(title).split() for title in header if title.strip()]
    return all(any(_repeats(fold(cell).split(), title) for title in titles) for cell in filled[1:])


def _repeats(words: Sequence[str], title: Sequence[str]) -> bool:
    return bool(words) and (words == title or (len(set(words)) > 1 and set(words) < set(title)))


def _heads(cell: str) -> bool:
    """Whether a cell alone reads like a heading over parts that are not fitted, or not in every case."""
    return len(cell) > 3 and (is_not_fitted_title(cell) or may_head_a_variant(cell))


def is_total(cell: str) -> bool:
    """Whether a cell reads as a total or an end mark."""
    return cell[:1] not in _plain_beginnings() and _TOTAL.fullmatch(fold(cell)) is not None


@cache
def _plain_beginnings() -> frozenset[str]:
    """Return the letters and digits that no total and no end mark begins with."""
    lines = vocabulary().lines
    first = {spelling[0] for spelling in lines.total.spelt | lines.end.spelt}
    return frozenset(c for c in string.ascii_letters + string.digits if c.lower() not in first)


def _total() -> str:
    return f"(?:{vocabulary().lines.total}|{vocabulary().lines.end})"
