"""Whether two sources count the leads of one part: a pad more or less is no difference, nor what prose says loosely."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from capcheck.packages.candidate import Trust
from capcheck.packages.tables import Family
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.packages.candidate import Candidate

FEW_LEADS: Final = 3
_BENT_ROWS: Final = frozenset({Family.SOT, Family.SOTFL, Family.SOIC, Family.SOP, Family.TSOP})
_JOINTS: Final = dict.fromkeys(map(ord, "-_ "))
_OF_ONE_COUNT: Final = pattern(r"SOT(?!223)\d{3}")
"""Names that stand for one count of leads, also in prose: SOT-323, SOT-353, SOT-363; common practice, no source."""


def same_count(used: Candidate, other: Candidate) -> bool:
    """Whether two pin counts agree, or one of them is none.

    An exposed pad may be counted or not, a size code only supposes two, a column may count pads and vias.
    """
    mine, theirs = used.pins or 0, other.pins or 0
    if _without_pad(used, other) and min(mine, theirs) % 2 and min(mine, theirs) > FEW_LEADS:
        # Five leads bent in two rows are six with one left out, and no six without a pad: SOT-23-5 and SOT-23-6.
        return mine == theirs
    if Family.CHIP_ARRAY in {used.family_key, other.family_key}:
        return mine == theirs
    if abs(mine - theirs) <= 1 or Trust.SIZE_CODE in {used.trust, other.trust}:
        return True
    return other.trust is Trust.STATED and theirs > mine


def _without_pad(one: Candidate, other: Candidate) -> bool:
    """Whether two names speak of small outlines with bent leads, whose odd lead is no pad."""
    return all(c.family_key in _BENT_ROWS and c.trust is Trust.PACKAGE_NAME for c in (one, other))


def counts_leads(candidate: Candidate) -> bool:
    """Whether the name of a package that prose says fixes how many leads it has."""
    return candidate.family_key is Family.CHIP_ARRAY or _counted(candidate) or _is_of_one_count(candidate)


def _counted(candidate: Candidate) -> bool:
    """Whether a text counts the leads of the package that it names: SOT-23-6, SOIC-8, 8-SOIC."""
    letters, _, numbers = (candidate.family or "").partition("-")
    count = numbers.split("-")[-1].split(" ")[0]
    if not letters or count != str(candidate.pins):
        return False
    own = numbers.partition("-")[0] if "-" in numbers else ""
    joint, text = "[-_ ]?", candidate.text.upper()
    named = rf"{letters}{joint}{own}"
    return re.search(rf"{named}{joint}{count}(?!\d)|(?<!\d){count}{joint}{named}(?!\d)", text) is not None


def _is_of_one_count(candidate: Candidate) -> bool:
    """Whether a text spells the name of an outline that is said of no other: SOT-363, and not SOT-323."""
    name = (candidate.family or "").translate(_JOINTS)
    return _OF_ONE_COUNT.fullmatch(name) is not None and name in candidate.text.upper().translate(_JOINTS)
