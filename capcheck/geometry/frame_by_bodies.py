"""Whether the frame in which the centres fit the outline also holds the bodies, or another one does and this does not.

Centres tell a frame to about the size of a body. Where bodies that no designer lets hang over the edge lie over it, and
another likely shift holds them all, which of the two is right is a question.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from msgspec.structs import replace

from capcheck.geometry.bodies import Bodies, body_rectangles
from capcheck.geometry.covering import Covering
from capcheck.geometry.edges import reaching_over
from capcheck.lexicon import reference_letters
from capcheck.model import Body, Decision, Floats, Outline, PartName, Placed, Placements, Topic, say

_OVER_MM: Final = 0.05
"""Rounded coordinates and sizes make up less."""
_OVERHANGING: Final = frozenset({"connector", "switch", "led"})
"""Parts that are meant to reach over the edge of some boards; common practice, no source."""
_MOVED_MM: Final = 0.05

_Shift = tuple[float, float]


def doubt_frame(
    decisions: Sequence[Decision],
    placements: Placements,
    bodies: Sequence[Body],
    types: Sequence[PartName],
    *,
    outline: Outline | None,
    placed: Placed,
) -> list[Decision]:
    """Return the decisions, that on the origin open where another shift holds all bodies and the one taken does not."""
    if outline is None or placed not in {Placed.AS_WRITTEN, Placed.SHIFTED}:
        return list(decisions)
    if any(d.open and d.topic is Topic.ORIGIN for d in decisions):
        return list(decisions)
    letters = [reference_letters().get(name.ref_prefix) for name in types]
    meant = np.array([*(known is not None and known.form in _OVERHANGING for known in letters), True])
    least = body_rectangles(placements, bodies, over_leads=False)
    rows = np.flatnonzero(
        placements.is_part & least.located & (least.inner > 0).all(axis=1) & ~meant[placements.part_type]
    )
    kept = least.take(rows)
    over = rows[reaching_over(kept, outline.polygon, _OVER_MM)[1]]
    if not len(over):
        return list(decisions)
    other = next((shift for shift in _others(kept, outline, placed) if _holds(kept, outline, shift)), None)
    if other is None:
        return list(decisions)
    refs = [placements.ref[i] for i in over.tolist()]
    evidence = say("geometry.bodies over the edge", refs=refs)
    found = [d for d in decisions if d.topic is Topic.ORIGIN] or [Decision(Topic.ORIGIN, say("frame.shared"), evidence)]
    opened = replace(
        found[0],
        evidence=evidence,
        runner_up=say("geometry.shift that holds all", dx=other[0], dy=other[1]),
        settle='origin = { x = "… mm", y = "… mm" }',
        open=True,
    )
    return [opened, *(d for d in decisions if d is not found[0])]


def _others(bodies: Bodies, outline: Outline, placed: Placed) -> Iterator[_Shift]:
    """Yield the further shifts worth trying, from where the parts lie now.

    As written the parts may count from a corner or the middle of the outline instead. A shift that was inferred may
    as well be another by as much as the bodies are over the edge.
    """
    left, low, right, high = outline.polygon.bounds
    if placed is Placed.AS_WRITTEN:
        yield from ((left, low), (left, high), ((left + right) / 2, (low + high) / 2))
        return
    corners = bodies.inner_corners().reshape(-1, 2)
    first, last = corners.min(axis=0), corners.max(axis=0)
    box = np.array([[left, low], [right, high]])
    yield _pair((box[0] + box[1] - first - last) / 2)
    yield _pair(np.maximum(box[0] - first, 0.0) + np.minimum(box[1] - last, 0.0))


def _pair(shift: Floats) -> _Shift:
    return float(shift[0]), float(shift[1])


def _holds(bodies: Bodies, outline: Outline, shift: _Shift) -> bool:
    """Whether all bodies lie on the board after a shift that is one."""
    import shapely

    if max(map(abs, shift)) < _MOVED_MM:
        return False
    corners = bodies.inner_corners() + np.array(shift)
    within = shapely.polygons(corners).tolist()
    grown = shapely.Polygon(outline.polygon.exterior).buffer(_OVER_MM)
    return bool(Covering(grown).covers(np.array(within, dtype=object)).all())
