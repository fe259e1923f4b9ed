"""Which contour of a drawing is the board: every closed contour is a candidate, and evidence is added up.

Evidence: words in the layer's name, its size among the others, the placements inside it, and against it what
drawing frames look like. The weights are judgement; the choice, its reasons and the runner-up go into a decision.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from msgspec import Struct, field
from shapely import Polygon

from capcheck.intake.outline.contours import Contour, OpenChain, Traced
from capcheck.lexicon import fold, vocabulary
from capcheck.model import Floats
from capcheck.values import pattern

ALL_LAYERS: Final = "all layers together"

_BOARD_WORDS: Final = pattern(lambda: f"{vocabulary().layers.outline}|{vocabulary().layers.board}")
_OTHER_WORDS: Final = pattern(lambda: str(vocabulary().layers.other))
_INNER_WORDS: Final = pattern(lambda: str(vocabulary().layers.inner))
_CUT_WORDS: Final = pattern(lambda: str(vocabulary().layers.cut_out))
_HOLE_WORDS: Final = pattern(lambda: str(vocabulary().layers.hole))

_SHEETS_MM: Final = (
    (297.0, 210.0),
    (420.0, 297.0),
    (594.0, 420.0),
    (841.0, 594.0),
    (1189.0, 841.0),
    (279.4, 215.9),
    (355.6, 215.9),
    (431.8, 279.4),
    (558.8, 431.8),
    (863.6, 558.8),
    (1117.6, 863.6),
)
"""Sheet sizes A4 to A0 (ISO 216) and A to E (ANSI Y14.1), from memory."""

_MOST_CANDIDATES: Final = 40
_INSET: Final = 0.8
"""A contour inside another with this share of its area is a second line along the edge, not a cut-out."""


class Candidate(Struct):
    """A contour that may be the board, with the evidence for (positive) and against it."""

    polygon: Polygon
    layer: str
    contour: Contour | None
    chain: OpenChain | None = None
    score: float = 0.0
    reasons: list[str] = field(default_factory=list)
    share_inside: float | None = None

    def add(self, weight: float, reason: str = "") -> None:
        """Add a piece of evidence."""
        self.score += weight
        if reason:
            self.reasons.append(reason)

    def size(self) -> tuple[float, float]:
        """Return the sides of the box in mm, along x and y."""
        west, south, east, north = self.polygon.bounds
        return east - west, north - south

    def describe(self) -> str:
        """Return the candidate as reports name it."""
        x, y = self.size()
        west, south = self.polygon.bounds[:2]
        place = f' on layer "{self.layer}"' if self.layer and self.layer != ALL_LAYERS else ""
        across = " drawn across several layers" if self.layer == ALL_LAYERS else ""
        return f"the {x:.4g} × {y:.4g} mm contour at ({west:.4g}, {south:.4g}){place}{across}"


class Surroundings(Struct, frozen=True):
    """What helps to tell contours apart: placements in mm, places of texts in mm, layers that are switched off."""

    points: Floats | None = None
    texts: Floats | None = None
    hidden: frozenset[str] = frozenset()


def names_cut_out(layer: str) -> bool:
    """Whether a layer's name speaks of cut-outs or of routing."""
    return _CUT_WORDS.search(fold(layer)) is not None


def names_hole(layer: str) -> bool:
    """Whether a layer's name speaks of holes."""
    return _HOLE_WORDS.search(fold(layer)) is not None


def rank(traced: Sequence[Traced], around: Surroundings) -> list[Candidate]:
    """Return the candidates of all layers, best first."""
    contours, chains = [c for t in traced for c in t.contours], [c for t in traced for c in t.chains]
    # Of thousands of holes only the largest few become candidates.
    area = shapely.area(np.array([*(c.polygon for c in contours), *(c.hull for c in chains)], dtype=object))
    largest_first = np.argsort(-area, kind="stable")[:_MOST_CANDIDATES].tolist()
    candidates = [
        Candidate(contours[i].polygon, contours[i].layer, contours[i])
        if i < len(contours)
        else Candidate(chains[i - len(contours)].hull, chains[i - len(contours)].layer, None, chains[i - len(contours)])
        for i in largest_first
        if area[i] > 0
    ]
    if not candidates:
        return []
    largest = candidates[0].polygon.area
    for candidate in candidates:
        _judge_alone(candidate, largest, around)
    _judge_nested(candidates, around)
    _judge_siblings(candidates)
    candidates.sort(key=lambda c: (-c.score, -c.polygon.area))
    return candidates


def _judge_siblings(candidates: list[Candidate]) -> None:
    """Weigh that a file sent as one board's outline draws the board once, other things several times."""
    for candidate in candidates:
        for other in candidates:
            alike = 0.7 < other.polygon.area / candidate.polygon.area < 1.4
            same_layer = other is not candidate and other.layer == candidate.layer
            if same_layer and alike and not other.polygon.intersects(candidate.polygon):
                candidate.add(-3.0, "there are several alike on its layer")
                break


def _judge_alone(candidate: Candidate, largest: float, around: Surroundings) -> None:
    layer = candidate.layer
    if _OTHER_WORDS.search(fold(layer)) and layer != ALL_LAYERS:
        candidate.add(-4.0, f'the layer\'s name "{layer}" speaks of something else')
    elif _BOARD_WORDS.search(fold(layer)):
        candidate.add(4.0, f"the layer's name \"{layer}\" speaks of the board's edge")
    if _INNER_WORDS.search(fold(layer)):
        candidate.add(-2.0, f'the layer\'s name "{layer}" speaks of the inside')
    if layer == ALL_LAYERS:
        candidate.add(-1.5)
    if layer in around.hidden:
        candidate.add(-2.0, "its layer is switched off")
    if candidate.chain is not None:
        candidate.add(-1.5, "its lines do not close")
    if candidate.contour is not None and candidate.contour.filled:
        candidate.add(-1.0, "it borders a filled area")
    relative = candidate.polygon.area / largest
    candidate.add(1.2 * math.log10(max(relative, 1e-9)), "it is the largest" if relative > 0.999 else "")
    longer, shorter = sorted(candidate.size(), reverse=True)
    if longer > 1500.0 or shorter < 2.0:
        candidate.add(-4.0, "its size is not a board's")
    if around.points is not None and len(around.points) > 2:
        _judge_placements(candidate, around.points)


def _judge_placements(candidate: Candidate, points: Floats) -> None:
    """Weigh the placements: inside is strong evidence, and so is a box that they cannot fit whatever the shift."""
    longer, shorter = sorted(candidate.size(), reverse=True)
    spread = sorted(map(float, np.ptp(points, axis=0)), reverse=True)
    share = float(shapely.contains_xy(candidate.polygon, points[:, 0], points[:, 1]).mean())
    candidate.share_inside = share
    if spread[0] > 1.1 * longer or spread[1] > 1.1 * shorter:
        candidate.add(-6.0, "the placements do not fit into it")
        return
    if share > 0.5:
        candidate.add(6.0 * share, f"{share:.0%} of the placements lie in it")
    filled = spread[0] / longer
    if filled < 0.3:
        candidate.add(4.0 * math.log10(max(filled, 1e-3) / 0.3), f"the placements span only {filled:.0%} of it")


def _judge_nested(candidates: list[Candidate], around: Surroundings) -> None:
    """Weigh what a contour holds: a second line along its edge, or, as a frame does, the board itself."""
    shapes = np.array([c.polygon for c in candidates])
    shapely.prepare(shapes)
    inside: dict[int, list[int]] = {i: [] for i in range(len(candidates))}
    for outer, inner in shapely.STRtree(shapes).query(shapes, predicate="contains").T.tolist():
        if outer != inner and shapes[outer].area > shapes[inner].area:
            inside[outer].append(inner)
    for outer, inners in inside.items():
        candidate = candidates[outer]
        for inner in inners:
            if candidates[inner].polygon.area >= _INSET * candidate.polygon.area:
                candidates[inner].add(
                    -0.5 if _is_sheet(candidate) else -3.0, "it runs along the inside of another contour"
                )
        _judge_frame(candidate, [candidates[i] for i in inners], around)


def _judge_frame(candidate: Candidate, inners: list[Candidate], around: Surroundings) -> None:
    large = [c for c in inners if c.polygon.area >= 0.01 * candidate.polygon.area and c.contour is not None]
    boards = [c for c in large if c.polygon.area < _INSET * candidate.polygon.area]
    if not _is_rectangle(candidate.polygon) or not (large or _texts_inside(candidate, around) > 1):
        return
    if boards and candidate.share_inside and any(b.share_inside == candidate.share_inside for b in boards):
        candidate.add(-5.0, "all placements in it lie in a smaller contour")
    if _is_sheet(candidate):
        candidate.add(-2.5, "it has the size of a drawing sheet")
    if not boards:
        return
    drawn_up = _is_sheet(candidate) or _texts_inside(candidate, around) > 1
    if drawn_up and candidate.contour is not None and candidate.contour.divided > 2:
        candidate.add(-1.5, "it is divided like a title block")
    outside = _texts_inside(candidate, around) - max(_texts_inside(b, around) for b in boards)
    if outside > 0:
        candidate.add(-min(2.5, 1.0 + 0.5 * outside), "it holds texts beside a smaller contour")


def _texts_inside(candidate: Candidate, around: Surroundings) -> int:
    if around.texts is None or len(around.texts) == 0:
        return 0
    return int(shapely.contains_xy(candidate.polygon, around.texts[:, 0], around.texts[:, 1]).sum())


def _is_rectangle(polygon: Polygon) -> bool:
    west, south, east, north = polygon.bounds
    return bool(polygon.area > 0.999 * (east - west) * (north - south))


def _is_sheet(candidate: Candidate) -> bool:
    """Return whether a rectangle has a drawing sheet's size, or that less margins of up to 30 mm a side."""
    if not _is_rectangle(candidate.polygon):
        return False
    longer, shorter = sorted(candidate.size(), reverse=True)
    return any(
        -1.0 <= sheet[0] - longer <= 60.0
        and -1.0 <= sheet[1] - shorter <= 60.0
        and (abs(sheet[0] - longer - (sheet[1] - shorter)) < 25.0)
        for sheet in _SHEETS_MM
    )


def rivals(best: Candidate, ranked: Sequence[Candidate]) -> list[Candidate]:
    """Return contours that may as well be a board beside *best*: apart from it, closed, at least 40 % of its area."""
    return [
        c
        for c in ranked
        if c is not best
        and c.contour is not None
        and c.layer == best.layer
        and c.score > best.score - 1.5
        and c.polygon.area > 0.4 * best.polygon.area
        and not c.polygon.intersects(best.polygon)
    ]
