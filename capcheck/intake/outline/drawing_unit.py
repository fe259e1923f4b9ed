"""The unit of an outline: stated, or inferred from the board's size and the placements.

Each unit gets a score, the logarithm of how likely it is up to a constant. The weights are judgement, not
measurement: most drawings are in mm, some in inch; boards are some 20 to 400 mm; a header is mostly right.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.intake.outline.drawing import MM_PER
from capcheck.model import Decision, Floats, Said, Topic, say

_PRIOR: Final = {
    "mm": 0.6,
    "inch": 0.25,
    "mil": 0.08,
    "cm": 0.03,
    "m": 0.01,
    "µm": 0.01,
    "ft": 0.0005,
    "microinch": 0.0005,
}
_STATED: Final = 4.0
_HINT: Final = 0.7
_TYPICAL_MM: Final = 80.0
_OPEN_MARGIN: Final = 3.0
"""Odds of less than 20 to 1 leave the unit open."""
_RARE_MARGIN: Final = 5.0
"""A unit that hardly any drawing is in is taken against a usual one on better evidence only."""
_LARGEST_MM: Final = 1500.0
_SMALLEST_MM: Final = 2.0
_FEW: Final = 3
_NOT_AS_WRITTEN: Final = 1.5
_INCHES: Final = frozenset({"inch", "mil"})
_ROUND_MM: Final = (10.0, 5.0, 1.0)
_ROUND_MOST: Final = 2.0
_MOST_DECIMALS: Final = 6
_SAME: Final = 1e-6
_USUAL: Final = ("mm", "mil", "inch")
_RARE: Final = ("cm", "µm")
"""Units that placements come in."""


class UnitEvidence(Struct, frozen=True):
    """What is known beside the contour's own size: the header's unit, its measuring system, and the placements.

    *points* are placements in mm; *unscaled* are placements in a unit that nobody states.
    """

    stated: str | None = None
    metric_hint: bool | None = None
    points: Floats | None = None
    unscaled: Floats | None = None
    box: tuple[float, float, float, float] | None = None
    """The contour's box in drawing units: what holds the placements as they are written speaks for its unit."""

    def spread(self) -> tuple[float, float] | None:
        """Return the longer and shorter side of the placements' box in mm, if there are enough."""
        if self.points is None or len(self.points) < _FEW:
            return None
        longer, shorter = sorted(map(float, np.ptp(self.points, axis=0)), reverse=True)
        return (longer, shorter) if longer > 1.0 else None


def guess_unit(length: float, width: float, evidence: UnitEvidence) -> tuple[str, Decision | None]:
    """Return the unit of a contour whose box is *length* × *width* drawing units, and the decision that it took.

    No decision is needed where the file states a unit and nothing speaks against it.
    """
    longer, shorter = max(length, width), min(length, width)
    # Feet and millionths of an inch are no unit of a board: only a header can bring them up.
    units = [unit for unit in _PRIOR if unit not in {"ft", "microinch"} or unit == evidence.stated]
    scores = {unit: _score(unit, longer, shorter, evidence) for unit in units}
    ranked = sorted(scores, key=lambda unit: -scores[unit])
    best, second = ranked[0], ranked[1]
    margin = scores[best] - scores[second]
    if evidence.stated == best and margin > 1.0:
        return best, None
    fits = fits_placements(longer * MM_PER[best], shorter * MM_PER[best], evidence)
    if evidence.unscaled is not None:
        fits = [_misfit(u, longer * MM_PER[u], shorter * MM_PER[u], evidence) for u in (best, second)] == [0.0, 3.0]
    needed = _OPEN_MARGIN if best in {*_USUAL, evidence.stated} else _RARE_MARGIN
    # What a file says of itself is overruled only with a question, however well another unit fits.
    is_open = margin < needed or evidence.stated not in {None, best}
    size = say("outline.fitted size" if fits else "outline.size", size=_size(longer, shorter, best))
    if evidence.stated is None:
        reason = say("outline.no unit stated", size=size)
    elif evidence.stated == best:
        reason = say("outline.unit as stated", size=size)
    else:
        would_be = _size(longer, shorter, evidence.stated)
        reason = say("outline.unit against the file", stated=evidence.stated, would_be=would_be, size=size)
    return best, Decision(
        Topic.OUTLINE_UNIT,
        say("outline.unit", unit=best),
        reason,
        say("outline.other unit", unit=second, size=_size(longer, shorter, second)),
        f'unit = "{best}" under [outline] in board.toml',
        open=is_open,
    )


def _size(longer: float, shorter: float, unit: str) -> Said:
    return say("outline.sides", longer=longer * MM_PER[unit], shorter=shorter * MM_PER[unit])


def _score(unit: str, longer: float, shorter: float, evidence: UnitEvidence) -> float:
    factor = MM_PER[unit]
    score = math.log(_PRIOR[unit])
    if unit == evidence.stated:
        score += _STATED
    elif evidence.stated is None and evidence.metric_hint is not None:
        score += _HINT * (1 if (unit in {"inch", "mil", "ft", "microinch"}) != evidence.metric_hint else -1)
    score += sum(_roundness(unit, side) for side in (longer, shorter) if evidence.stated is None)
    middle = math.sqrt(max(longer * shorter, 1e-30)) * factor
    score -= math.log(middle / _TYPICAL_MM) ** 2 / 2.0
    if longer * factor > _LARGEST_MM or shorter * factor < _SMALLEST_MM:
        score -= 6.0
    spread = evidence.spread()
    if spread is not None:
        # Placements mostly span some 80 % of the board each way.
        shares = [math.log(longer * factor / spread[0] / 1.2), math.log(shorter * factor / max(spread[1], 1.0) / 1.2)]
        score -= sum(_unusual_share(share) for share in shares)
        score -= _NOT_AS_WRITTEN * (1.0 - _held_as_written(factor, evidence))
        if not _holds(longer * factor, shorter * factor, spread):
            score -= 3.0
    else:
        score -= _misfit(unit, longer * factor, shorter * factor, evidence)
    return score


def _unusual_share(share: float) -> float:
    """Return what speaks against a side this much longer than 1.2 of what the placements span, as a logarithm.

    Parts fill the middle of many a board and leave the rest free, but do not reach far beyond any.
    """
    if share > 0:
        return min(3.0, share**2 / (2 * 0.6**2))
    return min(6.0, share**2 / (2 * 0.3**2))


def _held_as_written(factor: float, evidence: UnitEvidence) -> float:
    """Return the share of the placements that the contour's box holds without a shift."""
    if evidence.box is None or evidence.points is None:
        return 0.0
    west, south, east, north = (end * factor for end in evidence.box)
    low, high = np.array([west, south]), np.array([east, north])
    return float(((evidence.points >= low) & (evidence.points <= high)).all(axis=1).mean())


def _roundness(unit: str, side: float) -> float:
    """Return how much it speaks for a unit of inches that a side, written to some decimals, is round in mm.

    The measure is how rarely a length that is so written comes by chance as near to a round one.
    """
    if unit not in _INCHES:
        return 0.0
    decimals = next((d for d in range(_MOST_DECIMALS) if abs(round(side, d) - side) < _SAME), _MOST_DECIMALS)
    written = 0.5 * 10.0**-decimals * MM_PER[unit]
    length = side * MM_PER[unit]
    for grid in _ROUND_MM:
        if abs(length - grid * round(length / grid)) <= written + _SAME:
            return min(_ROUND_MOST, -math.log(min(1.0, 2.0 * written / grid)))
    return 0.0


def _misfit(unit: str, longer_mm: float, shorter_mm: float, evidence: UnitEvidence) -> float:
    """Return what speaks against a unit of the board: that placements of an unknown unit fill it in no usual one."""
    if evidence.unscaled is None or len(evidence.unscaled) < _FEW:
        return 0.0
    fitting = {
        name
        for name in (*_USUAL, *_RARE)
        if fits_placements(longer_mm, shorter_mm, UnitEvidence(points=evidence.unscaled * MM_PER[name]))
    }
    if fitting & {*_USUAL, unit}:
        return 0.0
    return 1.5 if fitting else 3.0


def fits_placements(longer_mm: float, shorter_mm: float, evidence: UnitEvidence) -> bool:
    """Return whether the placements' box fits the board and fills at least a third of its length.

    Placed parts may stand a little over the edge (connectors).
    """
    spread = evidence.spread()
    return spread is not None and _holds(longer_mm, shorter_mm, spread) and spread[0] >= longer_mm / 3.0


def _holds(longer_mm: float, shorter_mm: float, spread: tuple[float, float]) -> bool:
    """Return whether a box of these sides, and a tenth, takes the box of the placements."""
    return spread[0] <= 1.1 * longer_mm and spread[1] <= 1.1 * shorter_mm
