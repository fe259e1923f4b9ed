"""What is certain of the terminations of a kind of part whose package nothing names: that they are no balls.

Only kinds of which no family with balls or a grid of lands is common. Transistors, oscillators, filters and antennas
are left open: each is sold with balls or with lands in a grid, if seldom; so is any part whose texts speak of a grid,
an array or a stack, and a diode that protects several lines.
"""

from __future__ import annotations

from typing import Final

from capcheck.lexicon import reference_letters
from capcheck.model import Basis, Family, LeadStyle, say
from capcheck.packages.candidate import Candidate, Trust
from capcheck.values import pattern

_WITHOUT_LEADS: Final = frozenset(
    {
        "inductor",
        "fuse",
        "ferrite bead",
        "switch",
        "battery holder",
        "sounder",
        "trimmer or varistor",
        "capacitor",
        "thermistor",
        "varistor",
        "tantalum",
        "melf",
    }
)
"""Kinds whose few terminations no camera has to tell apart."""
_WITH_LEADS: Final = frozenset(
    {"connector", "pin header", "relay", "led", "resistor", "diode", "crystal", "transformer", "shield"}
)
"""Kinds whose terminations stand in rows, as leads or lands at the edge."""
_CIRCUITS: Final = frozenset(("U", "IC"))
_MAY_BE_GRID: Final = pattern(
    r"BGA|LGA|CSP|BALL|ARRAY|GRID|MEZZ|STACK|INTERPOS|SOCKET|MODULE|MEMS|COMPRESSION|LAND|(?<![A-Z])B2B|BTB"
    r"|BOARD.TO.BOARD|NETWORK|FLIP|(?<![A-Z])(?:ESD|TVS|EMI|IPD)(?![A-Z])|PROTECT|SUPPRESS"
)
_OSCILLATES: Final = pattern(r"OSC|(?<![A-Z])[A-Z]{0,4}XO(?![A-Z])")
_A_CIRCUIT: Final = pattern(
    r"(?<![A-Z])(?:IC|LDO|MCU|ASIC|FPGA|MOSFET|GAN)(?![A-Z])|DRIVER|CONTROLLER|REGULATOR|CONVERTER|AMPLIFIER|CHARGER"
    r"|TRANSCEIVER|SENSOR"
)
"""Words of a circuit, in which the name of a passive tells what it drives or holds."""


def no_balls(kind: str | None, ref_prefix: str, family: Family | None = None, texts: str = "") -> Candidate | None:
    """Return a candidate with a lead style for a kind of part that never has balls; None for all others.

    *kind* is what the texts or the reference prefix say, *family* what a name was read as, *texts* all that is said
    of the part. ``leads`` means rows of leads or lands of a form that is not known. The ground is common practice.
    """
    prefix = ref_prefix.upper()
    letters = reference_letters().get(prefix)
    prefixed = letters.form if letters else None
    upper = texts.upper()
    if prefix in _CIRCUITS or (letters is None and _A_CIRCUIT.search(upper)):
        kind = None
    for known in (family, kind, prefixed):
        if known is None:
            continue
        if known in _WITHOUT_LEADS:
            return None if _NO_PASSIVE.search(upper) else _said(known, LeadStyle.OTHER)
        if known in _WITH_LEADS:
            grid = _MAY_BE_GRID.search(upper) or (known == "crystal" and _OSCILLATES.search(upper))
            return None if grid else _said(known, LeadStyle.LEADS)
    return None


_NO_PASSIVE: Final = pattern(r"BGA|CSP|BALL|(?<![A-Z])IPD(?![A-Z])|NETWORK|ARRAY")
"""Words of a network of passives, which may stand on balls."""


def _said(kind: str, style: LeadStyle) -> Candidate:
    return Candidate(Basis.BOUND, Trust.BOUND, scheme=say("packages.without balls", kind=kind), lead_style=style)
