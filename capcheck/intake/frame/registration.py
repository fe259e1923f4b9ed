"""Placements are brought into the outline's frame: origin, direction of y, the bottom side's mirroring.

Each choice is made by how many placements come to lie inside the contour, and by holes that coincide. A choice that
the data do not settle is a decision marked open.
"""

from __future__ import annotations

import enum
from collections import Counter
from itertools import product
from typing import Final, Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import NOTHING, Codes, Decision, Flags, Floats, Kind, Outline, Said, Side, Topic, say

_SAMPLE: Final = 2000
ALL_INSIDE: Final = 0.95
MOSTLY_INSIDE: Final = 0.8
_OVERHANG_MM: Final = 1.0
"""Centres of edge connectors may lie this far outside."""
_SURE: Final = 2
"""Circles that coincide with rows: one may do so by chance."""
_CLEAR: Final = 0.01
"""A reading that fits this much better settles the question: one part in a hundred, or a hole."""
_LOOSE_MM: Final = 2.0
"""A contour this much wider than the parts leaves the shift open."""
_FROM_BELOW: Final = 'bottom_view = "from below"'
_THROUGH_THE_BOARD: Final = 'bottom_view = "through the board"'

Shift = tuple[float, float]
"""What is added to x and y, in mm."""


class ShiftBy(enum.StrEnum):
    """How a shift came to be tried; the value is the key of its sentence."""

    NONE = "frame.no shift"
    LOWER_LEFT = "frame.origin lower left"
    UPPER_LEFT = "frame.origin upper left"
    CENTRE = "frame.origin in the centre"
    HOLES = "frame.holes coincide"
    CENTRED_PARTS = "frame.parts centred"
    """Parts can be made to fit in this way on nearly any board, so that fitting proves little."""
    STATED = "frame.shift stated"


class Frame(Struct, frozen=True):
    """How coordinates in mm are turned: y turned over, bottom x mirrored about *mirror_x*, then shifted."""

    shift: Shift = (0.0, 0.0)
    y_down: bool = False
    mirror_x: float | None = None

    def apply(self, x: Floats, y: Floats, side: Codes) -> tuple[Floats, Floats]:
        """Return the coordinates in the outline's frame."""
        if self.y_down:
            y = -y
        if self.mirror_x is not None:
            x = np.where(side == Side.BOTTOM, 2 * self.mirror_x - x, x)
        return x + self.shift[0], y + self.shift[1]


class Wanted(Struct, frozen=True):
    """What board.toml states about the frame; None where it says nothing."""

    shift: Shift | None = None
    y_down: bool | None = None
    bottom_mirrored: bool | None = None

    @property
    def complete(self) -> bool:
        """Whether nothing is left to infer."""
        return None not in {self.shift, self.y_down, self.bottom_mirrored}


def register(
    x: Floats, y: Floats, side: Codes, kind: Codes, *, outline: Outline | None, wanted: Wanted
) -> tuple[Frame, list[Decision]]:
    """Return the frame of the coordinates (mm) and the decisions that led to it.

    How the bottom side is seen is open only where parts lie on it: nobody places anything else.
    """
    frame, decisions = _registered(x, y, side, kind, outline=outline, wanted=wanted)
    parts_below = bool(((side == Side.BOTTOM) & (kind == Kind.PART)).any())
    return frame, [
        replace(one, open=one.open and (parts_below or one.topic is not Topic.BOTTOM_SIDE)) for one in decisions
    ]


def _registered(
    x: Floats, y: Floats, side: Codes, kind: Codes, *, outline: Outline | None, wanted: Wanted
) -> tuple[Frame, list[Decision]]:
    usable = np.isfinite(x) & np.isfinite(y)
    x, y, side, kind = x[usable], y[usable], side[usable], kind[usable]
    if not len(x):
        return Frame(), []
    if outline is None:
        return _without_outline(x, side, wanted)
    scene = _Scene(outline, x, y, side, kind)
    plain = Frame(wanted.shift or (0.0, 0.0), bool(wanted.y_down), 0.0 if wanted.bottom_mirrored else None)
    if wanted.complete:
        return _mirrored_as_it_fits(scene, plain), []
    share = scene.inside(plain)
    if share >= ALL_INSIDE and scene.others_match_better(plain):
        # Nearly everything is inside, and yet the holes coincide only elsewhere: a small shift.
        return _search(scene, wanted, plain, share)
    if share >= ALL_INSIDE and wanted.bottom_mirrored is None:
        return plain, _same_frame(scene, plain, share)
    if share >= ALL_INSIDE:
        return plain, [_shared(say("frame.inside", share=share))]
    return _search(scene, wanted, plain, share)


def _mirrored_as_it_fits(scene: _Scene, stated: Frame) -> Frame:
    """Return a frame that is stated, its mirror about zero, or about the outline's middle where that fits better."""
    if stated.mirror_x is None:
        return stated
    bottom = scene.side == Side.BOTTOM
    middle = replace(stated, mirror_x=(scene.box[0] + scene.box[2]) / 2 - stated.shift[0])
    return middle if scene.inside(middle, bottom) > scene.inside(stated, bottom) + _CLEAR else stated


def holes_coincide(outline: Outline, x: Floats, y: Floats, kind: Codes) -> bool:
    """Whether two or more of the rows that stand for marks or holes meet circles of the drawing."""
    return _Scene(outline, x, y, np.zeros(len(x), dtype=np.int8), kind).matches(Frame()) >= _SURE


def share_inside(outline: Outline, frame: Frame, x: Floats, y: Floats, side: Codes) -> float:
    """Return the share of the rows with coordinates that *frame* puts inside the contour; 1 where there are none."""
    known = np.isfinite(x) & np.isfinite(y)
    return _Scene(outline, x[known], y[known], side[known], np.zeros(int(known.sum()), dtype=np.int8)).inside(frame)


def _without_outline(x: Floats, side: Codes, wanted: Wanted) -> tuple[Frame, list[Decision]]:
    frame = Frame(wanted.shift or (0.0, 0.0), bool(wanted.y_down), 0.0 if wanted.bottom_mirrored else None)
    if wanted.bottom_mirrored is not None:
        return frame, []
    top, bottom = x[side == Side.TOP], x[side == Side.BOTTOM]
    if len(top) < 3 or len(bottom) < 3:
        return frame, []
    if _opposite(top, bottom):
        decision = Decision(
            Topic.BOTTOM_SIDE,
            say("frame.mirror turned back"),
            say("frame.opposite signs"),
            say("frame.two boards"),
            _FROM_BELOW,
        )
        return Frame(frame.shift, frame.y_down, 0.0), [decision]
    return frame, []


def _opposite(top: Floats, bottom: Floats) -> bool:
    """Whether bottom x is top x seen in a mirror at zero: signs differ, and the ranges agree once turned."""
    if not ((top > 0).mean() > 0.97 and (bottom < 0).mean() > 0.97):
        return False
    low, high = (-bottom).min(), (-bottom).max()
    overlap = min(high, top.max()) - max(low, top.min())
    return bool(overlap > 0.5 * min(high - low, np.ptp(top)))


class _Scene:
    """A sample of the placements over the contour, to try frames on."""

    def __init__(self, outline: Outline, x: Floats, y: Floats, side: Codes, kind: Codes) -> None:
        import shapely

        self.outline = outline
        self.box = outline.polygon.bounds
        step = max(1, len(x) // _SAMPLE)
        self.x, self.y, self.side, self.kind = x[::step], y[::step], side[::step], kind[::step]
        self._contour = shapely.Polygon(outline.polygon.exterior).buffer(_OVERHANG_MM)
        shapely.prepare(self._contour)
        anchors = kind != Kind.PART
        self.anchors = (x[anchors][:60], y[anchors][:60], side[anchors][:60])
        rings = [*outline.holes, *outline.marks][:200]
        self.rings = np.array([(r[0], r[1]) for r in rings], dtype=np.float64).reshape(-1, 2)

    def inside(self, frame: Frame, only: Flags | None = None) -> float:
        """Return the share of the placements that *frame* puts inside the contour."""
        import shapely

        x, y = frame.apply(self.x, self.y, self.side)
        if only is not None:
            x, y = x[only], y[only]
        return float(shapely.contains_xy(self._contour, x, y).mean()) if len(x) else 1.0

    def matches(self, frame: Frame) -> int:
        """Return how many of the placements that stand for marks or holes meet a circle of the drawing."""
        if not len(self.rings) or not len(self.anchors[0]):
            return 0
        x, y = frame.apply(*self.anchors)
        near = np.hypot(x[:, None] - self.rings[None, :, 0], y[:, None] - self.rings[None, :, 1]) < 0.15
        return int(near.any(axis=1).sum())

    def others_match_better(self, plain: Frame) -> bool:
        """Return whether holes or marks coincide after a shift and not as *plain* has them."""
        if self.matches(plain):
            return False
        voted = self._vote(plain.y_down, plain.mirror_x)
        return voted is not None and self.inside(Frame(voted, plain.y_down, plain.mirror_x)) >= ALL_INSIDE

    def shifts(self, y_down: bool, mirror_x: float | None, only: Flags | None = None) -> dict[Shift, ShiftBy]:
        """Return the shifts worth trying for this way of turning, and how each was found."""
        x, y = Frame((0, 0), y_down, mirror_x).apply(self.x, self.y, self.side)
        if only is not None:
            x, y = x[only], y[only]
        left, low, right, high = self.box
        found = {
            (0.0, 0.0): ShiftBy.NONE,
            (left, low): ShiftBy.LOWER_LEFT,
            (left, high): ShiftBy.UPPER_LEFT,
            ((left + right) / 2, (low + high) / 2): ShiftBy.CENTRE,
        }
        voted = self._vote(y_down, mirror_x)
        if voted is not None:
            found[voted] = ShiftBy.HOLES
        middle = ((left + right - x.min() - x.max()) / 2, (low + high - y.min() - y.max()) / 2)
        found.setdefault(middle, ShiftBy.CENTRED_PARTS)
        return found

    def _vote(self, y_down: bool, mirror_x: float | None) -> Shift | None:
        if not len(self.rings) or not len(self.anchors[0]):
            return None
        x, y = Frame((0, 0), y_down, mirror_x).apply(*self.anchors)
        dx = (self.rings[:, 0][:, None] - x[None, :]).ravel()
        dy = (self.rings[:, 1][:, None] - y[None, :]).ravel()
        cells = Counter(zip(np.round(dx, 1).tolist(), np.round(dy, 1).tolist(), strict=True))
        cell, votes = cells.most_common(1)[0]
        if votes < 2:
            return None
        near = (np.abs(dx - cell[0]) < 0.1) & (np.abs(dy - cell[1]) < 0.1)
        return float(np.median(dx[near])), float(np.median(dy[near]))


def _shared(evidence: Said) -> Decision:
    return Decision(Topic.ORIGIN, say("frame.shared"), evidence)


def _same_frame(scene: _Scene, plain: Frame, share: float) -> list[Decision]:
    decisions = [_shared(say("frame.inside as written", share=share))]
    bottom = scene.side == Side.BOTTOM
    if bottom.any():
        turned = scene.inside(Frame(plain.shift, plain.y_down, 0.0), bottom)
        own = scene.inside(plain, bottom)
        # A mirror about the board's own middle fits nearly any board: it counts only where it fits better.
        middle = (scene.box[0] + scene.box[2]) / 2 - plain.shift[0]
        about_middle = scene.inside(Frame(plain.shift, plain.y_down, middle), bottom)
        better = about_middle > own + _CLEAR
        decisions.append(
            Decision(
                Topic.BOTTOM_SIDE,
                say("frame.through the board"),
                say("frame.bottom inside as written", share=own),
                say("frame.mirrored about the middle inside", share=about_middle)
                if better
                else say("frame.mirrored inside", share=turned),
                _THROUGH_THE_BOARD,
                open=turned >= own or better,
            )
        )
    return decisions


class _Tried(Struct, frozen=True):
    """A frame that was tried: how well it fits, what its complication costs, and how its shift was found."""

    fit: float
    cost: float
    frame: Frame
    by: ShiftBy
    always: bool
    """Whether parts can be made to fit in this way on nearly any board, so that fitting proves little."""


_Mirror = Literal["none", "zero", "middle"]


def _frames(scene: _Scene, wanted: Wanted, y_down: bool, mirror: _Mirror, top: Flags) -> list[tuple[Frame, ShiftBy]]:
    """Return the frames worth trying for one way of turning, and how the shift of each was found.

    A mirror about the outline's middle is known only with the shift, which the other rows tell.
    """
    at = 0.0 if mirror == "zero" else None
    shifts = (
        {wanted.shift: ShiftBy.STATED}
        if wanted.shift
        else scene.shifts(y_down, at, top if mirror == "middle" else None)
    )
    middle = (scene.box[0] + scene.box[2]) / 2
    return [(Frame(s, y_down, middle - s[0] if mirror == "middle" else at), by) for s, by in shifts.items()]


def _search(scene: _Scene, wanted: Wanted, plain: Frame, share: float) -> tuple[Frame, list[Decision]]:
    turns = [wanted.y_down] if wanted.y_down is not None else [False, True]
    top = scene.side != Side.BOTTOM
    mirrors: list[_Mirror] = ["none"]
    if not top.all() and wanted.bottom_mirrored is not False:
        about: list[_Mirror] = ["zero", "middle"] if top.any() else ["zero"]
        mirrors = about if wanted.bottom_mirrored else ["none", *about]
    ranked: list[_Tried] = []
    for y_down, mirror in product(turns, mirrors):
        for order, (frame, by) in enumerate(_frames(scene, wanted, y_down, mirror, top)):
            fit = scene.inside(frame) + 0.05 * min(scene.matches(frame), 4)
            # What is written is turned over or mirrored only for a clear gain.
            cost = 0.02 * y_down + 0.02 * (mirror != "none") + 0.03 * (order > 0) + 0.001 * order
            always = mirror == "middle" or by == ShiftBy.CENTRED_PARTS
            ranked.append(_Tried(fit, cost, frame, by, always))
    ranked.sort(key=lambda tried: tried.cost - tried.fit)
    best = ranked[0].frame
    found = scene.inside(best)
    if found < max(MOSTLY_INSIDE, share):
        if wanted.shift is not None:
            # Stated is stated: a part beside the board is then a finding, and no doubt about the origin.
            return best, [Decision(Topic.ORIGIN, say("frame.stated shift"), say("frame.inside as stated", share=found))]
        return plain, [
            Decision(
                Topic.ORIGIN,
                say("frame.left as written"),
                say("frame.no shift helps", share=share, best=found),
                NOTHING,
                'origin = { x = "… mm", y = "… mm" }',
                open=True,
            )
        ]
    return best, _explain(scene, ranked, found, share)


def _explain(scene: _Scene, ranked: list[_Tried], found: float, share: float) -> list[Decision]:
    """Return the decisions behind the best frame; *found* lie inside with it, *share* as written.

    A choice is open where another frame fits as well and puts parts elsewhere.
    """
    best = ranked[0].frame
    x, y = best.apply(scene.x, scene.y, scene.side)
    rivals = [
        tried.frame
        for tried in ranked[1:]
        if (ranked[0].always or best.mirror_x is not None or not tried.always)
        and (best.y_down or not tried.frame.y_down)
        and tried.fit > ranked[0].fit - _CLEAR
        and _apart(tried.frame.apply(scene.x, scene.y, scene.side), (x, y))
    ]
    mirror_open = any(f.mirror_x != best.mirror_x for f in rivals)
    shift_open = any(f.mirror_x == best.mirror_x or f.y_down != best.y_down for f in rivals)
    slack = max(scene.box[2] - scene.box[0] - np.ptp(x), scene.box[3] - scene.box[1] - np.ptp(y))
    loose = ranked[0].by == ShiftBy.CENTRED_PARTS and slack > _LOOSE_MM
    other = next((t for t in ranked[1:] if _far(t.frame.shift, best.shift)), None)
    rival = NOTHING
    if other is not None:
        dx, dy = other.frame.shift
        rival = say("frame.other shift", dx=dx, dy=dy, share=scene.inside(other.frame))
    dx, dy = best.shift
    decisions = [
        Decision(
            Topic.ORIGIN,
            say("frame.shifted", dx=dx, dy=dy) if dx or dy else say("frame.origin of the outline"),
            say("frame.then inside", reason=say(ranked[0].by), then=found, before=share),
            rival,
            f'origin = {{ x = "{dx:.3f} mm", y = "{dy:.3f} mm" }}',
            open=bool(loose or shift_open),
        )
    ]
    gain = say("frame.gain", then=found, before=share)
    if best.y_down:
        decisions.append(Decision(Topic.Y_AXIS, say("frame.y down"), gain, NOTHING, 'y_axis = "down"'))
    if best.mirror_x is not None:
        about = say(
            "frame.mirror at zero turned back" if best.mirror_x == 0 else "frame.mirror at the middle turned back"
        )
        decisions.append(Decision(Topic.BOTTOM_SIDE, about, gain, NOTHING, _FROM_BELOW, open=mirror_open))
    elif mirror_open:
        decisions.append(
            Decision(
                Topic.BOTTOM_SIDE,
                say("frame.through the board"),
                say("frame.mirror fits too"),
                say("frame.mirrored"),
                _THROUGH_THE_BOARD,
                open=True,
            )
        )
    return decisions


def _far(one: Shift, two: Shift) -> bool:
    return bool(np.hypot(one[0] - two[0], one[1] - two[1]) > _LOOSE_MM)


def _apart(one: tuple[Floats, Floats], two: tuple[Floats, Floats]) -> bool:
    """Whether some placement lies more than a fifth of a mm elsewhere: less does not move a part off its pads."""
    return bool(np.hypot(one[0] - two[0], one[1] - two[1]).max() > 0.2)
