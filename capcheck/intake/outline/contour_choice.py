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
from capcheck.intake.outline.layer_contours import ALL_LAYERS
from capcheck.lexicon import fold, vocabulary
from capcheck.model import NOTHING, Decision, Floats, Said, Topic, say
from capcheck.values import in_toml, pattern

_BOARD_WORDS: Final = pattern(lambda: f"{vocabulary().layers.outline}|{vocabulary().layers.board}")
_EDGE_WORDS: Final = pattern(lambda: str(vocabulary().layers.outline))
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

_LONGEST_MM: Final = 1500.0
_MOST_CANDIDATES: Final = 40
_RIVAL_SHARE: Final = 0.02
"""A smaller contour is no other choice worth naming."""
_CLOSE_SCORE: Final = 0.7
"""A contour whose score comes this near may as well be the board."""
_SAME_SHARE: Final = 1e-3
"""Two contours that differ by less of their area are one, drawn twice."""
_INSET: Final = 0.8
"""A contour inside another with this share of its area is a second line along the edge, not a cut-out."""


class Candidate(Struct):
    """A contour that may be the board, with the evidence for (positive) and against it."""

    polygon: Polygon
    layer: str
    contour: Contour | None
    chain: OpenChain | None = None
    score: float = 0.0
    reasons: list[Said] = field(default_factory=list)
    share_inside: float | None = None
    drawing_frame: bool = False
    """Whether it is plainly the frame of a drawing: as large as a sheet, or with texts beside what it holds."""
    texts_beside: bool = False
    """Whether it holds texts beside what else it holds."""

    def add(self, weight: float, reason: Said = NOTHING) -> None:
        """Add a piece of evidence."""
        self.score += weight
        if reason != NOTHING:
            self.reasons.append(reason)

    def size(self) -> tuple[float, float]:
        """Return the sides of the box in mm, along x and y."""
        west, south, east, north = self.polygon.bounds
        return east - west, north - south

    def described(self) -> Said:
        """Return the candidate as reports name it."""
        x, y = self.size()
        west, south = self.polygon.bounds[:2]
        contour = say("outline.contour", x=x, y=y, west=west, south=south)
        if self.layer == ALL_LAYERS:
            return say("outline.contour across layers", contour=contour)
        return say("outline.contour on a layer", contour=contour, layer=self.layer) if self.layer else contour


class Surroundings(Struct, frozen=True):
    """What helps to tell contours apart: placements in mm, places of texts in mm, layers that are switched off."""

    points: Floats | None = None
    texts: Floats | None = None
    hidden: frozenset[str] = frozenset()


def names_cut_out(layer: str) -> bool:
    """Whether a layer's name speaks of cut-outs or of routing."""
    return _CUT_WORDS.search(fold(layer)) is not None


def names_edge(name: str) -> bool:
    """Whether a name speaks of the board's edge."""
    return _EDGE_WORDS.search(fold(name)) is not None


def names_hole(layer: str) -> bool:
    """Whether a layer's name speaks of holes."""
    return _HOLE_WORDS.search(fold(layer)) is not None


def names_something_else(layer: str) -> bool:
    """Whether a layer's name speaks of what is no opening, such as texts or a legend."""
    return _OTHER_WORDS.search(fold(layer)) is not None and not names_cut_out(layer) and not names_hole(layer)


def names_frame(layer: str) -> bool:
    """Whether a layer's name speaks of a frame, a drawing's or a panel's, or of a panel."""
    folded = fold(layer)
    return vocabulary().layers.frame.search(folded) is not None or vocabulary().remarks.panel.search(folded) is not None


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
                candidate.add(-3.0, say("outline.several alike"))
                break


def _judge_alone(candidate: Candidate, largest: float, around: Surroundings) -> None:
    layer = candidate.layer
    if _OTHER_WORDS.search(fold(layer)) and layer != ALL_LAYERS:
        candidate.add(-4.0, say("outline.layer of something else", layer=layer))
    elif _BOARD_WORDS.search(fold(layer)):
        candidate.add(4.0, say("outline.layer of the edge", layer=layer))
    if _INNER_WORDS.search(fold(layer)):
        candidate.add(-2.0, say("outline.layer of the inside", layer=layer))
    if layer == ALL_LAYERS:
        candidate.add(-1.5)
    if layer in around.hidden:
        candidate.add(-2.0, say("outline.layer switched off"))
    if candidate.chain is not None:
        candidate.add(-1.5, say("outline.open lines"))
    if candidate.contour is not None and candidate.contour.hatched:
        candidate.add(-1.0, say("outline.hatched"))
    relative = candidate.polygon.area / largest
    candidate.add(1.2 * math.log10(max(relative, 1e-9)), say("outline.largest") if relative > 0.999 else NOTHING)
    longer, shorter = sorted(candidate.size(), reverse=True)
    if longer > _LONGEST_MM or shorter < 2.0:
        candidate.add(-4.0, say("outline.size of no board"))
    if around.points is not None and len(around.points) > 2:
        _judge_placements(candidate, around.points)


def _judge_placements(candidate: Candidate, points: Floats) -> None:
    """Weigh the placements: inside is strong evidence, and so is a box that they cannot fit whatever the shift."""
    longer, shorter = sorted(candidate.size(), reverse=True)
    spread = sorted(map(float, np.ptp(points, axis=0)), reverse=True)
    share = float(shapely.contains_xy(candidate.polygon, points[:, 0], points[:, 1]).mean())
    candidate.share_inside = share
    if spread[0] > 1.1 * longer or spread[1] > 1.1 * shorter:
        candidate.add(-6.0, say("outline.too small for the placements"))
        return
    if share > 0.5:
        candidate.add(6.0 * share, say("outline.holds placements", share=share))
    filled = spread[0] / longer
    if filled < 0.3:
        candidate.add(4.0 * math.log10(max(filled, 1e-3) / 0.3), say("outline.placements span little", share=filled))


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
                candidates[inner].add(-0.5 if is_sheet(candidate) else -3.0, say("outline.second line"))
        _judge_frame(candidate, [candidates[i] for i in inners], around)


def _judge_frame(candidate: Candidate, inners: list[Candidate], around: Surroundings) -> None:
    large = [c for c in inners if c.polygon.area >= 0.01 * candidate.polygon.area and c.contour is not None]
    boards = [c for c in large if c.polygon.area < _INSET * candidate.polygon.area]
    if not _is_rectangle(candidate.polygon) or not (large or _texts_inside(candidate, around) > 1):
        return
    if boards and candidate.share_inside and any(b.share_inside == candidate.share_inside for b in boards):
        candidate.add(-5.0, say("outline.placements in a smaller contour"))
    if is_sheet(candidate):
        candidate.add(-2.5, say("outline.size of a sheet"))
    if not boards:
        return
    outside = _texts_inside(candidate, around) - max(_texts_inside(b, around) for b in boards)
    candidate.texts_beside = outside > 0
    candidate.drawing_frame = candidate.texts_beside or is_sheet(candidate)
    drawn_up = is_sheet(candidate) or _texts_inside(candidate, around) > 1
    if drawn_up and candidate.contour is not None and candidate.contour.divided > 2:
        candidate.add(-1.5, say("outline.title block"))
    if outside > 0:
        candidate.add(-min(2.5, 1.0 + 0.5 * outside), say("outline.texts beside a smaller contour"))


def _texts_inside(candidate: Candidate, around: Surroundings) -> int:
    if around.texts is None or len(around.texts) == 0:
        return 0
    return int(shapely.contains_xy(candidate.polygon, around.texts[:, 0], around.texts[:, 1]).sum())


def _is_rectangle(polygon: Polygon) -> bool:
    west, south, east, north = polygon.bounds
    return bool(polygon.area > 0.999 * (east - west) * (north - south))


def is_sheet(candidate: Candidate, margins_mm: float = 60.0) -> bool:
    """Return whether a rectangle has a drawing sheet's size, or that less *margins_mm*, both sides together."""
    if not _is_rectangle(candidate.polygon):
        return False
    longer, shorter = sorted(candidate.size(), reverse=True)
    return any(
        -1.0 <= sheet[0] - longer <= margins_mm
        and -1.0 <= sheet[1] - shorter <= margins_mm
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


def _is_other_choice(candidate: Candidate, best: Candidate) -> bool:
    """Return whether a contour is large enough, and different enough from the *best*, to be named beside it."""
    if candidate is best or candidate.polygon.area <= _RIVAL_SHARE * best.polygon.area:
        return False
    if candidate.layer == best.layer:
        return candidate.score >= best.score - 1.0 or not best.polygon.contains(candidate.polygon)
    return ALL_LAYERS not in {candidate.layer, best.layer} or not same(candidate, best)


def same(one: Candidate, other: Candidate) -> bool:
    """Return whether two candidates are one contour drawn twice."""
    return bool(one.polygon.symmetric_difference(other.polygon).area < _SAME_SHARE * other.polygon.area)


def _told_apart(inner: str, outer: str) -> bool:
    """Whether the names of two layers tell that the inner contour is the board, or that the outer one is not."""
    if inner == outer:
        return False
    return (
        ALL_LAYERS in {inner, outer}
        or _BOARD_WORDS.search(fold(inner)) is not None
        or _OTHER_WORDS.search(fold(outer)) is not None
    )


def _around(best: Candidate, ranked: Sequence[Candidate]) -> Candidate | None:
    """Return the contour around the *best* that may be the board, the best being a contour drawn inside it."""
    for candidate in ranked:
        if candidate.contour is None or candidate.drawing_frame or _told_apart(best.layer, candidate.layer):
            continue
        if (
            max(candidate.size()) <= _LONGEST_MM
            and candidate.polygon.contains(best.polygon)
            and not same(candidate, best)
        ):
            return candidate
    return None


def decide(best: Candidate, ranked: Sequence[Candidate], *, one_layer: bool) -> tuple[list[Decision], Polygon | None]:
    """Return the decision that the *best* contour is the board, if there was anything to choose, and its rival.

    It is open, and there is a rival, where another contour is nearly as good. With *one_layer* only contours of one
    layer were looked at.
    """
    others = [c for c in ranked if _is_other_choice(c, best)]
    around = _around(best, ranked)
    if around is not None:
        others.insert(0, around)
    if one_layer and not others:
        return [], None
    other = others[0] if others else None
    layer = (other or best).layer
    is_open = around is not None or (
        other is not None and not same(other, best) and other.score > best.score - _CLOSE_SCORE
    )
    decided = [
        Decision(
            Topic.OUTLINE_CONTOUR,
            best.described(),
            say("outline.reasons", reasons=best.reasons) if best.reasons else say("outline.no other contour"),
            other.described() if other else NOTHING,
            f"layer = {in_toml(layer)} under [outline] in board.toml" if other or layer else "",
            open=is_open,
        )
    ]
    return decided, other.polygon if other is not None and is_open else None
