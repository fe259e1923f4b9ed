"""What is certain of the terminations of a kind of part whose package nothing names: that they are no balls.

Only kinds of which no family with balls or a grid of lands is published. Relays, connectors, diodes, oscillators and
antennas are left open: each is sold with balls or with lands in a grid, if seldom.
"""

from __future__ import annotations

from typing import Final

from capcheck.model import Basis
from capcheck.packages.reading import Reading, Trust

_BY_PREFIX: Final = {
    "SW": "switch", "S": "switch", "BTN": "switch", "PB": "switch", "BT": "battery holder", "BAT": "battery holder",
    "LS": "sounder", "SPK": "sounder", "BZ": "sounder", "F": "fuse", "RV": "trimmer or varistor",
}  # fmt: skip
"""Kinds by reference prefix, as common practice has them (no source)."""
_KINDS: Final = frozenset({"inductor", "fuse", "ferrite bead"})


def no_balls(kind: str | None, ref_prefix: str) -> Reading | None:
    """Return a reading with the lead style ``other`` for a kind of part that never has balls; None for all others.

    *kind* is what the texts or the reference prefix say. The ground is common practice, from memory.
    """
    known = kind if kind in _KINDS else _BY_PREFIX.get(ref_prefix.upper())
    if known is None:
        return None
    source = f"a {known} has neither balls nor a grid of lands (common practice, from memory)"
    return Reading(source, Basis.BOUND, Trust.BOUND, lead_style="other")
