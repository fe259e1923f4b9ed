"""Grid arrays that are named by their grid or their count alone: BGA80P28X28-760, RFLGA50P5X5, 27X25_1170P."""

from __future__ import annotations

import math
import re
from typing import Final

from msgspec.structs import replace

from capcheck.model import Basis, LeadStyle, Mounting, say
from capcheck.packages.candidate import Candidate, Column, Trust
from capcheck.packages.tables import Family
from capcheck.values import Interval, pattern

_BY_GRID: Final = pattern(
    r"(?P<word>[BL]GA)[-_ ]?(?P<pitch>[3-9]\d|1[0-2]\d)P(?P<columns>\d{1,2})X(?P<rows>\d{1,2})"
    r"(?:[-_](?P<pins>\d{2,4}))?(?!\d)"
)
_BY_COUNT: Final = pattern(r"(?P<long>\d{1,2})X(?P<short>\d{1,2})[-_ ](?P<pins>\d{3,4})P(?:INS?)?")
_CIRCUITS: Final = frozenset(("U", "IC"))
_PITCHES_MM: Final = (0.3, 1.3)
"""Pitches that balls are sold with; from memory."""
_BESIDE_MM: Final = 0.2
_BESIDE_PITCHES: Final = 2.5
"""How much a body reaches beyond its outer rows at least and, in pitches, at most (JEDEC MO-151 and MO-195 bodies)."""
_TOLERANCE_MM: Final = 0.2


def read_grid_array(text: str, column: Column, ref_prefix: str) -> list[Candidate]:
    """Return a grid array by columns, rows and pitch in hundredths of a millimetre, or by its sides and its count.

    Lengths are mm. A pair of numbers behind the pitch of a small land grid may also be its sides.
    """
    upper = text.upper()
    name = Candidate(
        Basis.DECODED,
        Trust.PACKAGE_NAME,
        column,
        text,
        mounting=Mounting.SURFACE,
        family_key=Family.BGA,
        hidden_joints=True,
    )
    if "GA" in upper and (match := _BY_GRID.search(upper)):
        return [_by_grid(name, match)]
    if ref_prefix.upper() in _CIRCUITS and (match := _BY_COUNT.fullmatch(upper)):
        return _by_count(name, match)
    return []


def _by_grid(name: Candidate, match: re.Match[str]) -> Candidate:
    pitch = int(match["pitch"]) / 100.0
    long, short = sorted((int(match["columns"]), int(match["rows"])), reverse=True)
    balls = match["word"] == "BGA"
    return replace(
        _called(name, match),
        length=_around(long, pitch),
        width=_around(short, pitch),
        pitch=Interval(round(pitch - 0.005, 4), round(pitch + 0.005, 4)),
        lead_style=LeadStyle.BALL_GRID if balls else LeadStyle.LAND_GRID,
        family_key=Family.BGA if balls else Family.LGA,
    )


def _by_count(name: Candidate, match: re.Match[str]) -> list[Candidate]:
    long, short = sorted((int(match["long"]), int(match["short"])), reverse=True)
    least, most = _PITCHES_MM
    if not least <= math.sqrt(long * short / int(match["pins"])) <= most:
        return []
    return [replace(_called(name, match), length=_made(long), width=_made(short))]


def _called(name: Candidate, match: re.Match[str]) -> Candidate:
    piece, pins = match[0], match["pins"]
    scheme = say("packages.dimensions", read=(piece,))
    return replace(name, scheme=scheme, piece=piece, family=piece, pins=int(pins) if pins else None)


def _around(count: int, pitch: float) -> Interval:
    """Return the side of a body over so many balls; a pair of small numbers may also be the side itself."""
    between = (count - 1) * pitch
    return Interval(round(between + _BESIDE_MM, 4), round(max(between + _BESIDE_PITCHES * pitch, count + 0.2), 4))


def _made(side: int) -> Interval:
    return Interval(side - _TOLERANCE_MM, side + _TOLERANCE_MM)
