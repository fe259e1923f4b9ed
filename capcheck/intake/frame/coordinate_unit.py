"""The unit of coordinates that no file states, from what boards look like.

Each unit is scored by how likely the board would be in it: how far apart neighbouring parts are, how large the board
is (or how well the parts fill the outline), and on which grid the numbers fall. The distributions are starting
suggestions, wide on purpose: units lie factors of 10 to 40 apart. Common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.intake.tables import StatedUnit, other_unit
from capcheck.lexicon import mm_per
from capcheck.model import Codes, Decision, Floats, Outline, Said, Side, Topic, say
from capcheck.values import Place

if TYPE_CHECKING:
    from capcheck.intake.placements import PlacementColumns

_PRIOR: Final = {"mm": 0.0, "mil": -0.7, "inch": -2.0, "µm": -4.0, "cm": -4.5}
"""How usual each unit is where nothing is stated, as a natural logarithm."""
_SETTLED: Final = 3.0
"""The best reading must be e³ = 20 times as likely as the next; below that the unit stays open."""
_SAMPLE: Final = 1000
_WIDEST_BOARD_MM: Final = 1200.0


class UnitScores(Struct, frozen=True):
    """How likely each unit is, as natural logarithms, with the two figures that a reader can judge by."""

    scores: dict[str, float]
    spacing: float
    span: float

    def ranked(self) -> list[str]:
        """Return the units, best first."""
        return sorted(self.scores, key=lambda u: -self.scores[u])

    @property
    def margin(self) -> float:
        """How far the best is ahead of the next."""
        first, second = self.ranked()[:2]
        return self.scores[first] - self.scores[second]

    def plus(self, other: UnitScores) -> UnitScores:
        """Return the two files' evidence together."""
        return UnitScores({u: s + other.scores[u] for u, s in self.scores.items()}, self.spacing, self.span)


def score_units(placements: PlacementColumns, outline: Outline | None) -> UnitScores:
    """Return how likely each unit is for the raw coordinates of *placements*."""
    known = np.isfinite(placements.x) & np.isfinite(placements.y)
    x, y = placements.x[known], placements.y[known]
    if len(x) == 0 or np.ptp(x) == np.ptp(y) == 0:  # parts in one place tell no more than one part
        return UnitScores(dict(_PRIOR), math.nan, math.nan if len(x) < 2 else 0.0)
    spans = (_robust_span(x), _robust_span(y))
    spacing, close = _spacing(x, y, placements.side[known])
    scores = {}
    for unit, prior in _PRIOR.items():
        factor = mm_per()[unit]
        score = prior + _log_normal(spacing * factor, 2.6, 0.8)
        if close * factor < 0.35:
            score -= 3.0
        score += _fits(spans, factor, outline) if outline is not None else _size(max(spans) * factor)
        scores[unit] = score + _grid(x, y, unit)
    return UnitScores(scores, spacing, max(spans))


def decide_units(
    files: Sequence[PlacementColumns], outline: Outline | None, *, outline_unit_open: bool = False
) -> tuple[list[float], list[Decision]]:
    """Return the mm in each file's unit, stated or inferred, and a decision for each that had to be inferred.

    With *outline_unit_open* the outline's own unit is a guess, which cannot settle another one: what is inferred stays
    open, unless the placements say it plainly without it. Files with the same header come from one program: their
    evidence is taken together unless each is clear alone.
    """
    scores = [None if f.stated else score_units(f, outline) for f in files]
    factors: list[float] = []
    decisions: list[Decision] = []
    for file, own in zip(files, scores, strict=True):
        if own is None:
            if file.stated is None:
                raise AssertionError
            factors.append(file.stated.factor)
            decisions += _contradiction(file, file.stated, outline)
            continue
        joint = own
        if own.margin < 2 * _SETTLED:
            for other, theirs in zip(files, scores, strict=True):
                if other is not file and theirs is not None and other.table.header == file.table.header:
                    joint = joint.plus(theirs)
        best, second = joint.ranked()[:2]
        alone = own.ranked()[0]
        if alone != best:  # the files together outvote this one, which may be of another program all the same
            second = alone
        evidence = _told_by(own, mm_per()[best])
        if outline is not None:
            left, low, right, high = outline.polygon.bounds
            key = "frame.and an outline of uncertain unit" if outline_unit_open else "frame.and the outline"
            evidence = say(key, evidence=evidence, width=right - left, height=high - low)
        rival = say("frame.unit", unit=second)
        if not math.isnan(own.spacing):
            rival = say("frame.other unit", unit=second, spacing=own.spacing * mm_per()[second])
        decisions.append(
            Decision(
                Topic.UNIT,
                say("frame.unit", unit=best),
                evidence,
                rival,
                f'units = "{best}"',
                open=joint.margin < _SETTLED or alone != best or (outline_unit_open and not _is_plain(file, best)),
                place=Place(file.table.file),
            )
        )
        factors.append(mm_per()[best])
    return factors, decisions


def _told_by(own: UnitScores, factor: float) -> Said:
    """Return what a file's parts tell of the unit of *factor* mm, which may be nothing."""
    if math.isnan(own.span):
        return say("frame.one part")
    if own.span == 0:
        return say("frame.parts in one place")
    if math.isnan(own.spacing):
        return say("frame.no neighbours", span=own.span * factor)
    return say("frame.neighbours", spacing=own.spacing * factor, span=own.span * factor)


def _is_plain(file: PlacementColumns, unit: str) -> bool:
    """Whether the placements by themselves leave next to no doubt of a unit: e⁶ is 400 to 1."""
    alone = score_units(file, None)
    return alone.ranked()[0] == unit and alone.margin >= 2 * _SETTLED


def _contradiction(file: PlacementColumns, stated: StatedUnit, outline: Outline | None) -> list[Decision]:
    """Return an open decision where a file names two units, or the parts fill the outline in another one alone."""
    beside = other_unit(file.table, file.columns, stated.unit) if stated.evidence.key != "units.board.toml" else None
    if beside is not None:
        said = say("units.another said", stated=stated.evidence, other=beside.evidence)
        return [_two_units(file, stated.unit, beside.unit, said)]
    if outline is None:
        return []
    known = np.isfinite(file.x) & np.isfinite(file.y)
    if known.sum() < 5:
        return []
    spans = (_robust_span(file.x[known]), _robust_span(file.y[known]))
    own = _fits(spans, stated.factor, outline)
    other = max((u for u in _PRIOR if mm_per()[u] != stated.factor), key=lambda u: _fits(spans, mm_per()[u], outline))
    if own > -12.0 or _fits(spans, mm_per()[other], outline) < -3.0:
        return []
    said = say("frame.contradicted unit", evidence=stated.evidence, unit=other)
    return [_two_units(file, stated.unit, other, said)]


def _two_units(file: PlacementColumns, unit: str, other: str, evidence: Said) -> Decision:
    return Decision(
        Topic.UNIT,
        say("frame.unit", unit=unit),
        evidence,
        say("frame.unit", unit=other),
        f'units = "{other}"',
        open=True,
        place=Place(file.table.file),
    )


def _log_normal(value: float, middle: float, width: float) -> float:
    if not value > 0:
        return -4.0
    return -0.5 * min(abs(math.log(value / middle)) / width, 5.0) ** 2


def _size(span_mm: float) -> float:
    score = _log_normal(span_mm, 75.0, 0.95)
    return score - 4.0 if span_mm > _WIDEST_BOARD_MM else score


def _fits(spans: tuple[float, float], factor: float, outline: Outline) -> float:
    """Score how well parts with these spans fill the outline, whichever way round it lies."""
    box = outline.polygon.bounds
    width, height = box[2] - box[0], box[3] - box[1]
    ratio = max(spans[0] * factor / width, spans[1] * factor / height)
    if ratio > 1.02:
        return -6.0 - 10.0 * min(math.log(ratio), 2.0)
    return _log_normal(ratio, 0.85, 0.5)


def _grid(x: Floats, y: Floats, unit: str) -> float:
    """Score the numbers' grid: whole numbers speak for mil, multiples of 0.127 or 0.635 with a rest for mm."""
    values = np.abs(np.concatenate([x, y]))
    whole = float((values == np.round(values)).mean())
    converted = values[np.abs(values * 20 - np.round(values * 20)) > 0.01]
    from_mil = 0.0
    if len(converted) >= 10:
        steps = converted / 0.635
        from_mil = float((np.abs(steps - np.round(steps)) < 0.004).mean())
    if unit == "mil":
        return 1.5 * (whole - 0.3) - 2.0 * from_mil
    if unit == "µm":
        return 2.0 * (whole - 0.7)
    if unit == "mm":
        return -2.0 * max(0.0, whole - 0.5) + 3.0 * from_mil
    return -4.0 * max(0.0, whole - 0.2)


def _robust_span(values: Floats) -> float:
    """Return the span of *values* without the odd row that lies off the board."""
    if len(values) < 20:
        return float(np.ptp(values))
    # np.quantile would load masked arrays, for longer than reading a list takes.
    low, high = np.interp(np.array([0.01, 0.99]) * (len(values) - 1), np.arange(len(values)), np.sort(values))
    return float(high - low)


def _spacing(x: Floats, y: Floats, side: Codes) -> tuple[float, float]:
    """Return the median and a low quantile of the distance to the nearest part on the same side, in raw units."""
    bottom = int((side == Side.BOTTOM).sum()) > len(side) / 2
    own = side == Side.BOTTOM if bottom else side != Side.BOTTOM
    x, y = x[own], y[own]
    order = np.argsort(x, kind="stable")
    # A strip across the board keeps true neighbours together, which a random sample would tear apart.
    start = max(0, (len(order) - _SAMPLE) // 2)
    strip = order[start : start + _SAMPLE]
    points = np.unique(np.column_stack([x[strip], y[strip]]), axis=0)
    if len(points) < 2:
        return math.nan, math.nan
    nearest = _nearest(*points.T)
    return float(np.median(nearest)), float(np.quantile(nearest, 0.02))


def _nearest(x: Floats, y: Floats) -> Floats:
    """Return the distance of each point to the nearest other one; *x* rises, and ends the search of each."""
    nearest = np.full(len(x), np.inf)
    for step in range(1, len(x)):
        along = x[step:] - x[:-step]
        left = np.flatnonzero(along < np.maximum(nearest[:-step], nearest[step:]))
        if not len(left):
            break
        right = left + step
        distance = np.hypot(along[left], y[right] - y[left])
        nearest[left] = np.minimum(nearest[left], distance)
        nearest[right] = np.minimum(nearest[right], distance)
    return nearest
