"""What is certain of the terminations of a kind of part whose package nothing names: that they are no balls.

Only kinds of which no family with balls or a grid of lands is common. Diodes, transistors, oscillators and antennas are
left open: each is sold with balls or with lands in a grid, if seldom; so is a connector or relay whose texts speak of
a grid, an array or a stack.
"""

from __future__ import annotations

from typing import Final

from capcheck.lexicon import reference_letters
from capcheck.model import Basis, LeadStyle, say
from capcheck.packages.candidate import Candidate, Trust
from capcheck.values import pattern

_WITHOUT_LEADS: Final = frozenset(
    {"inductor", "fuse", "ferrite bead", "switch", "battery holder", "sounder", "trimmer or varistor"}
)
"""Kinds whose few terminations no camera has to tell apart."""
_WITH_LEADS: Final = frozenset({"connector", "pin header", "relay", "led"})
"""Kinds whose terminations stand in rows, as leads or lands at the edge."""
_MAY_BE_GRID: Final = pattern(
    r"BGA|LGA|CSP|BALL|ARRAY|GRID|MEZZ|STACK|INTERPOS|SOCKET|MODULE|MEMS|COMPRESSION|LAND|(?<![A-Z])B2B|BTB|BOARD.TO.BOARD"
)


def no_balls(kind: str | None, ref_prefix: str, family: str | None = None, texts: str = "") -> Candidate | None:
    """Return a candidate with a lead style for a kind of part that never has balls; None for all others.

    *kind* is what the texts or the reference prefix say, *family* what a name was read as, *texts* all that is said
    of the part. ``leads`` means rows of leads or lands of a form that is not known. The ground is common practice.
    """
    letters = reference_letters().get(ref_prefix.upper())
    prefixed = letters.form if letters else None
    for known in (family, kind, prefixed):
        if known is None:
            continue
        if known in _WITHOUT_LEADS:
            return _said(known, LeadStyle.OTHER)
        if known in _WITH_LEADS:
            return None if _MAY_BE_GRID.search(texts.upper()) else _said(known, LeadStyle.LEADS)
    return None


def _said(kind: str, style: LeadStyle) -> Candidate:
    return Candidate(Basis.BOUND, Trust.BOUND, scheme=say("packages.without balls", kind=kind), lead_style=style)
