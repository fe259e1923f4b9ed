"""Whether x of the bottom side may be written as seen from below, mirrored about the middle of the board.

Centres cannot tell: mirrored so they lie on the board as well. Bodies, marks and holes can. It is a question only
where the answers would differ, and where nothing speaks against the mirrored reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec.structs import replace

from capcheck.geometry.bodies import Bodies, body_rectangles
from capcheck.geometry.edges import cutout_distance, hole_distance, reaching_over
from capcheck.model import Body, Decision, Flags, Floats, Kind, Mounting, Outline, Placements, Side, Topic, say

_OVER_MM: Final = 0.05
"""Rounded coordinates and sizes make up less."""
_MANY: Final = 3
"""Bodies over the edge or over openings: one or two may be the mistake that is looked for, nobody designs so many."""
_SURE: Final = 2
"""Marks or holes that coincide: one may do so by chance."""
_SAME_MM: Final = 0.15


def doubt_mirror(
    decisions: Sequence[Decision], placements: Placements, bodies: Sequence[Body], *, outline: Outline | None
) -> list[Decision]:
    """Return the decisions, that on the bottom side open where its mirrored reading fits as well and answers otherwise.

    To be asked only where x is taken as seen from the top and nothing states it, for a board that is no panel.
    """
    open_topics = {d.topic for d in decisions if d.open}
    bottom = placements.side == Side.BOTTOM
    if outline is None or open_topics & {Topic.BOTTOM_SIDE, Topic.ORIGIN, Topic.OUTLINE_CONTOUR} or not bottom.any():
        return list(decisions)
    west, _, east, _ = outline.polygon.bounds
    mirrored_x = np.where(bottom, west + east - placements.x_mm, placements.x_mm)
    lying = np.array([*(body.mounting not in {Mounting.THROUGH_HOLE, Mounting.NONE} for body in bodies), False])
    rectangles = body_rectangles(placements, bodies)
    rows = placements.is_part & placements.fitted & bottom & lying[placements.part_type] & rectangles.bounded
    here = rectangles.take(rows)
    there = replace(here, x_mm=mirrored_x[rows], angle_deg=-here.angle_deg)
    may, must = _over(there, outline)
    lies = may.copy()
    lies[may] = ~_over(here.take(may), outline)[0]
    if not lies.any() or np.count_nonzero(must & lies) >= _MANY or _told_by_marks(placements, mirrored_x, outline):
        return list(decisions)
    refs = [placements.ref[i] for i in np.flatnonzero(rows)[lies].tolist()]
    found = [d for d in decisions if d.topic is Topic.BOTTOM_SIDE]
    opened = Decision(
        Topic.BOTTOM_SIDE,
        say("frame.through the board"),
        say("geometry.mirror fits as well"),
        say("geometry.mirrored over openings", refs=refs),
        'bottom_view = "through the board"',
        open=True,
    )
    return [opened, *(d for d in decisions if d not in found)]


def _over(bodies: Bodies, outline: Outline) -> tuple[Flags, Flags]:
    """Return which bodies may reach over the edge or over an opening, and which certainly do.

    What may be an opening or not is a question already, and its answer comes first.
    """
    may, must = reaching_over(bodies, outline.polygon, _OVER_MM)
    for low, high in (
        cutout_distance(bodies, outline.polygon, outline.holes),
        hole_distance(bodies, outline.holes),
    ):
        may, must = may | (low < -_OVER_MM), must | (high < -_OVER_MM)
    return may, must


def _told_by_marks(placements: Placements, mirrored_x: Floats, outline: Outline) -> bool:
    """Whether marks and holes of the bottom side coincide with circles or with marks of the top as written alone."""
    marks = placements.kind != Kind.PART
    bottom = marks & (placements.side == Side.BOTTOM)
    top = marks & (placements.side == Side.TOP)
    spots = np.array([(c[0], c[1]) for c in (*outline.holes, *outline.marks)], dtype=np.float64).reshape(-1, 2)
    spots = np.vstack([spots, np.column_stack([placements.x_mm[top], placements.y_mm[top]])])

    def met(x: Floats) -> int:
        away = np.hypot(x[bottom][:, None] - spots[None, :, 0], placements.y_mm[bottom][:, None] - spots[None, :, 1])
        return int((away < _SAME_MM).any(axis=1).sum()) if len(spots) else 0

    return met(placements.x_mm) >= max(_SURE, met(mirrored_x) + 1)
