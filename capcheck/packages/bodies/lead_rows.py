"""Bodies with two rows of leads or lands, of which only the count is known: the pitch bounds the side along a row."""

from __future__ import annotations

import math
import re
from typing import Final

from msgspec import Struct

from capcheck.model import Basis, say
from capcheck.packages.candidate import Candidate, Trust, sides
from capcheck.packages.tables import Family, rows_of
from capcheck.values import Interval

_UNEVEN: Final = frozenset((Family.SOT, Family.SOTFL))
"""Families of which three to six leads may stand on the grid of three."""
_THREE: Final = 3
_LEAST_CONTACTS: Final = 2


class _Rows(Struct, frozen=True):
    """A family of two rows: the pitches that it is sold with, and what its body measures."""

    family: str
    pitch_mm: Interval
    beyond_mm: Interval
    """What the body is longer than from the first to the last contact of a row."""
    across_mm: Interval
    source: str
    words: tuple[str, ...] = ()
    """Package words that the row is for; none: any of the family."""
    most_pins: int | None = None
    along_most_mm: float = math.inf

    def is_of(self, known: Candidate) -> bool:
        """Whether a part of the family, by its word and its count, is of this row."""
        if self.family != known.family_key or (known.pins or 0) > (self.most_pins or math.inf):
            return False
        letters = re.match(r"[A-Z]+", (known.family or "").upper())
        return not self.words or (letters is not None and letters[0] in self.words)


def lead_row_bounds(known: Candidate) -> Candidate | None:
    """Return the sides and the pitch that so many contacts in two rows allow; None for another family or no count.

    A count may hold an exposed pad, so that a row has at least half of the others.
    """
    row = next((row for row in rows_of("lead_rows", _Rows) if row.is_of(known)), None)
    if row is None or known.states_size or (known.pins or 0) < _LEAST_CONTACTS:
        return None
    pitch = known.pitch if known.pitch is not None and known.pitch.is_known else row.pitch_mm
    pins = known.pins or 0
    least, most = (pins - 1) // 2, math.ceil(pins / 2)
    if known.family_key in _UNEVEN:
        most = max(most, _THREE)
    shortest = round(max(0, least - 1) * pitch.low + row.beyond_mm.low, 3)
    longest = round(min((most - 1) * pitch.high + row.beyond_mm.high, row.along_most_mm), 3)
    if shortest > longest:
        return None  # a count or a pitch that no body of the family has room for
    across = row.across_mm
    if known.span is not None:
        across = Interval(across.low, max(known.span.high, across.low))
    length, width = sides(Interval(shortest, longest), across)
    return Candidate(
        Basis.BOUND,
        Trust.BOUND,
        scheme=say("packages.rows of leads", pins=pins, table=row.source),
        length=length,
        width=width,
        nominal_length=length,
        nominal_width=width,
        pitch=pitch,
        family_key=known.family_key,
    )
