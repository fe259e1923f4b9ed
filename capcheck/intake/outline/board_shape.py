"""From a drawing to the board: its unit, its contour among others, what lies inside, and what is wrong with it."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import shapely
from msgspec.structs import replace
from shapely import Polygon

from capcheck.intake.outline import contour_choice as layer_choice
from capcheck.intake.outline.contour_choice import ALL_LAYERS, Candidate, Surroundings
from capcheck.intake.outline.contours import GAP_MM, Contour, Traced, circle_of, trace
from capcheck.intake.outline.drawing import MM_PER, SAGITTA_MM, Circle, Drawing, arc_angles
from capcheck.intake.outline.drawing_unit import UnitEvidence, guess_unit
from capcheck.model import Decision, Floats, Note, Outline, Topic
from capcheck.values import InputError, Place, nearest

_MARK_MM: Final = (0.5, 3.3)
"""Diameters of circles that may be fiducials: SMEMA 3.1 has marks of 1 to 3 mm, local marks are smaller."""

_SMALLEST_AREA_MM2: Final = 1.0
_LISTED_LAYERS: Final = 8
_ROUND_POINTS: Final = 12
_CAP_MM: Final = 1.0
"""A circle smaller than this on the end of a line is the line's round end, drawn."""
_DRILL_MM: Final = 3.3
_ON_END_MM: Final = 0.002
_MOST_OF_IT: Final = 0.6
_RIVAL_SHARE: Final = 0.02
_SECOND_LINE: Final = 0.8
_CLOSE_SCORE: Final = 0.7
_SAME_SHARE: Final = 1e-3

Reading = tuple[Outline, tuple[Decision, ...], tuple[Note, ...], str]


def _check_layer(drawing: Drawing, layer: str | None) -> None:
    names = drawing.layers()
    if layer is not None and layer.lower() not in {n.lower() for n in names}:
        hint = nearest(layer, names)
        listed = ", ".join(f'"{n}"' for n in names[:_LISTED_LAYERS]) + (" …" if len(names) > _LISTED_LAYERS else "")
        raise InputError.at(
            drawing.file,
            f'there is no layer "{layer}" with lines on it',
            f"its layers are {listed}",
            hint or "name one of them as layer under [outline] in board.toml",
        )


class OutlineReader:
    """Carries one drawing through unit, contours and choice."""

    def __init__(
        self,
        drawing: Drawing,
        layer: str | None,
        tolerance_mm: float | None,
        points: Floats | None,
        unscaled: Floats | None = None,
    ) -> None:
        _check_layer(drawing, layer)
        self.drawing = drawing
        self.layer = next((n for n in drawing.layers() if layer and n.lower() == layer.lower()), None)
        self.tolerance = GAP_MM if tolerance_mm is None else tolerance_mm
        self.evidence = UnitEvidence(drawing.unit, drawing.metric_hint, points, unscaled)
        self.points = points
        self.notes: list[str] = list(drawing.notes)

    def read(self, stated: str | None) -> Reading:
        """Return the outline, decisions, notes and the drawing's unit; *stated* is the user's unit."""
        extent = self.drawing.extent()
        unit = stated or guess_unit(extent, extent, self.evidence)[0]
        decisions: list[Decision] = []
        for attempt in range(3):
            traced, ranked = self._contours(MM_PER[unit])
            best = self._best(traced, ranked, MM_PER[unit])
            if stated:
                break
            along_x, along_y = best.size()
            better, decision = guess_unit(along_x / MM_PER[unit], along_y / MM_PER[unit], self.evidence)
            decisions = [decision] if decision else []
            if better == unit or attempt == 2:
                break
            unit = better
        self._refuse(best, ranked)
        decisions += self._choice(best, ranked)
        outline = self._outline(best, traced, MM_PER[unit])
        file = self.drawing.file
        return (
            outline,
            tuple(replace(d, place=Place(file)) for d in decisions),
            tuple(Note(text, Place(file)) for text in self.notes),
            unit,
        )

    def _contours(self, factor: float) -> tuple[list[Traced], list[Candidate]]:
        """Trace each layer by itself, and all together where none holds most of the drawing."""
        lines: dict[str, list[Floats]] = {}
        hatched: dict[str, list[Floats]] = {}
        rounds = _round_contours(self.drawing.circles, factor)
        for stroke in self.drawing.strokes:
            target = hatched if stroke.filled and self.drawing.form == "DXF" else lines
            line = stroke.points(factor)
            closed = len(line) > _ROUND_POINTS and (line[0] == line[-1]).all()
            circle = circle_of(line[:-1]) if closed else None
            if circle is None:
                target.setdefault(stroke.layer, []).append(line)
            else:
                # By itself, so that a drill that cuts the edge, or a dot on a line's end, does not bend the contour.
                rounds.append(Contour(Polygon(line), stroke.layer, circle))
        wanted = [self.layer] if self.layer is not None else self.drawing.layers()
        traced = []
        for layer in wanted:
            found = trace(lines.get(layer, []), layer, self.tolerance)
            traced.append(replace(found, contours=found.contours + tuple(c for c in rounds if c.layer == layer)))
        if self.layer is None and len(lines) > 1 and not _one_layer_suffices(traced, lines):
            drawn = [line.copy() for layer in lines for line in lines[layer]]
            traced.append(trace(drawn, ALL_LAYERS, self.tolerance))
        if not any(t.contours for t in traced):
            for layer in wanted:
                filled = trace(hatched.get(layer, []), layer, self.tolerance)
                traced.append(replace(filled, contours=tuple(replace(c, filled=True) for c in filled.contours)))
        texts = np.array(self.drawing.texts, dtype=np.float64).reshape(-1, 2) * factor
        return traced, layer_choice.rank(traced, Surroundings(self.points, texts, self.drawing.hidden_layers))

    def _best(self, traced: list[Traced], ranked: list[Candidate], factor: float) -> Candidate:
        if ranked:
            return ranked[0]
        flat = next((t.flat for t in traced if t.flat is not None), None)
        if flat is not None:
            what = f"the closed line at ({flat[0]:.4g}, {flat[1]:.4g}) mm encloses no area"
            raise InputError.at(self.drawing.file, what, "it runs back on itself", "draw the contour again")
        first = self.drawing.strokes[0]
        x, y = first.vertices[0] * factor
        raise InputError.at(
            Place(self.drawing.file, column=self._where(first.layer)),
            f"no line closes to a contour (the first begins at ({x:.4g}, {y:.4g}) mm)",
            "a board's outline is a closed line",
            "close it, or name the right layer or unit under [outline]",
        )

    def _where(self, layer: str) -> str | None:
        return f'layer "{layer}"' if layer else None

    def _refuse(self, best: Candidate, ranked: list[Candidate]) -> None:
        """Raise for a board contour that is open, crosses itself, has no area, or is one of two."""
        where = Place(self.drawing.file, column=self._where(best.layer))
        if best.chain is not None:
            (x0, y0), (x1, y1) = best.chain.ends
            raise InputError.at(
                where,
                f"the outline is open between ({x0:.4f}, {y0:.4f}) and ({x1:.4f}, {y1:.4f}) mm",
                f"the gap is {best.chain.gap_mm:.4g} mm, gaps up to {self.tolerance:g} mm are closed",
                "close it, or set a larger tolerance under [outline] in board.toml",
            )
        if best.contour is not None and best.contour.crossing is not None:
            x, y = best.contour.crossing
            raise InputError.at(
                where,
                f"the outline crosses itself at ({x:.4f}, {y:.4f}) mm",
                "inside and outside cannot be told apart",
                "draw it without the crossing",
            )
        if best.polygon.area < _SMALLEST_AREA_MM2:
            x, y = best.polygon.bounds[:2]
            raise InputError.at(
                where,
                f"the outline at ({x:.4g}, {y:.4g}) mm encloses {best.polygon.area:.3g} mm²",
                "that is no board",
                "check the unit, or name the layer of the outline under [outline]",
            )
        others = layer_choice.rivals(best, ranked)
        if others:
            places = " and ".join(
                f"{x:.4g} × {y:.4g} mm at ({c.polygon.bounds[0]:.4g}, {c.polygon.bounds[1]:.4g})"
                for c in (best, others[0])
                for x, y in (c.size(),)
            )
            raise InputError.at(
                where,
                f"{1 + len(others)} contours may be the board: {places}",
                "they lie beside each other and nothing tells which one is meant",
                "keep one, or put it on a layer of its own and name that under [outline]",
            )

    def _choice(self, best: Candidate, ranked: list[Candidate]) -> list[Decision]:
        """Return the decision which contour is the board, if there was anything to choose."""
        rest = [
            c
            for c in ranked
            if c is not best
            and c.polygon.area > _RIVAL_SHARE * best.polygon.area
            and not (c.layer == best.layer and c.score < best.score - 1.0 and best.polygon.contains(c.polygon))
            and not (c.layer != best.layer and ALL_LAYERS in {c.layer, best.layer} and _same(c, best))
        ]
        if not rest and (self.layer is not None or len(self.drawing.layers()) == 1):
            return []
        runner = rest[0] if rest else None
        reason = ", ".join(best.reasons) or "no other contour is like a board"
        settle = f'layer = "{(runner or best).layer}" under [outline] in board.toml'
        is_open = runner is not None and not _same(runner, best) and runner.score > best.score - _CLOSE_SCORE
        return [
            Decision(
                Topic.OUTLINE_CONTOUR,
                best.describe(),
                reason,
                runner.describe() if runner else "",
                settle if runner or best.layer else "",
                open=is_open,
            )
        ]

    def _outline(self, best: Candidate, traced: list[Traced], factor: float) -> Outline:
        board = best.polygon
        self._note_mending(best, traced)
        shapely.prepare(board)
        cuts: list[Polygon] = []
        holes: list[tuple[float, float, float]] = []
        marks: list[tuple[float, float, float]] = []
        layers = self._layers_of(best, factor)
        for contour in _inside(board, traced):
            own = contour.layer in layers
            if contour.circle is not None:
                if own or layer_choice.names_hole(contour.layer) or layer_choice.names_cut_out(contour.layer):
                    holes.append(contour.circle)
                elif _MARK_MM[0] <= contour.circle[2] <= _MARK_MM[1]:
                    marks.append(contour.circle)
            elif (
                own or layer_choice.names_cut_out(contour.layer)
            ) and contour.polygon.area < _SECOND_LINE * board.area:
                cuts.append(contour.polygon)
            else:
                self.notes.append(
                    f"a second line along the inside of the contour is left out ({contour.polygon.area:.5g} mm²)"
                )
        ends = _ends_of(self.drawing, factor)
        caps = _on_ends([h for h in holes if h[2] < _CAP_MM], ends)
        if caps:
            self.notes.append(f"{len(caps)} small circles on the ends of lines are taken for drawn ends, not for holes")
        kept = [h for h in holes if h not in caps]
        polygon = _with_cuts(board, cuts)
        where = f' layer "{best.layer}"' if best.layer else ""
        return Outline(
            polygon, tuple(_without_doubles(kept)), tuple(_without_doubles(marks)), f"{self.drawing.file}{where}"
        )

    def _layers_of(self, best: Candidate, factor: float) -> set[str]:
        """Return the layers that the board's contour is drawn on: its own, or those with lines along it."""
        if best.layer != ALL_LAYERS:
            return {best.layer}
        strokes = self.drawing.strokes
        border = best.polygon.exterior
        shapely.prepare(border)
        middles = [
            shapely.line_interpolate_point(shapely.linestrings(s.points(factor)), 0.5, normalized=True) for s in strokes
        ]
        on_border = shapely.dwithin(border, np.array(middles), self.tolerance)
        return {s.layer for s, on in zip(strokes, on_border, strict=True) if on}

    def _note_mending(self, best: Candidate, traced: list[Traced]) -> None:
        own = [t for t in traced if any(c is best.contour for c in t.contours)]
        for found in own:
            if found.gaps_closed and found.widest_gap_mm > 0:
                self.notes.append(
                    f"{found.gaps_closed} gaps in the lines are closed, the widest {found.widest_gap_mm:.4g} mm "
                    f"(tolerance {self.tolerance:g} mm)"
                )
        if best.contour is not None and best.contour.divided > 1:
            self.notes.append(f"lines divide the contour into {best.contour.divided} fields; its outer border is taken")


def _same(one: Candidate, other: Candidate) -> bool:
    """Return whether two candidates are one contour drawn twice."""
    return bool(one.polygon.symmetric_difference(other.polygon).area < _SAME_SHARE * other.polygon.area)


def _round_contours(circles: list[Circle], factor: float) -> list[Contour]:
    """Return circles as contours. Where one may be a board its polygon is within 1 µm; drills are coarser."""
    if not circles:
        return []
    table = np.array([(c.x, c.y, c.diameter / 2) for c in circles]) * factor
    polygons = np.empty(len(circles), dtype=object)
    drill = table[:, 2] <= _DRILL_MM
    polygons[drill] = shapely.polygons(table[drill, None, :2] + table[drill, 2, None, None] * _unit_ring(0.01)[None])
    for i in np.flatnonzero(~drill):
        polygons[i] = Polygon(table[i, :2] + table[i, 2] * _unit_ring(SAGITTA_MM / table[i, 2]))
    return [
        Contour(polygon, c.layer, (x, y, 2 * r))
        for polygon, c, (x, y, r) in zip(polygons, circles, table.tolist(), strict=True)
    ]


def _unit_ring(sagitta: float) -> Floats:
    """Return the corners of a polygon in the unit circle, its chords at most *sagitta* inside."""
    angles = np.array(arc_angles(0.0, math.tau, 1.0, sagitta)[:-1])
    return np.column_stack((np.cos(angles), np.sin(angles)))


def _one_layer_suffices(traced: list[Traced], lines: dict[str, list[Floats]]) -> bool:
    """Return whether a single layer closes a contour that spans most of what is drawn."""
    boxes = [c.polygon.bounds for t in traced for c in t.contours]
    if not boxes:
        return False
    drawn = np.concatenate([line for layer in lines.values() for line in layer])
    whole = float(np.prod(np.ptp(drawn, axis=0)))
    largest = max((b[2] - b[0]) * (b[3] - b[1]) for b in boxes)
    return bool(largest > _MOST_OF_IT * whole)


def _inside(board: Polygon, traced: list[Traced]) -> list[Contour]:
    """Return the contours whose middle lies on *board*."""
    every = [c for t in traced for c in t.contours]
    shapes = np.array([c.polygon for c in every], dtype=object)
    smaller = np.flatnonzero(shapely.area(shapes) < board.area)
    every, shapes = [every[i] for i in smaller.tolist()], shapes[smaller]
    on_board = shapely.contains(board, shapely.point_on_surface(shapes))
    return [contour for contour, on in zip(every, on_board, strict=True) if on]


def _ends_of(drawing: Drawing, factor: float) -> Floats:
    if not drawing.strokes:
        return np.zeros((0, 2))
    return np.concatenate([s.vertices[[0, -1]] for s in drawing.strokes]) * factor


def _on_ends(circles: list[tuple[float, float, float]], ends: Floats) -> set[tuple[float, float, float]]:
    """Return the circles whose middle is an end of a line."""
    if not circles or len(ends) == 0:
        return set()
    middles = shapely.points(np.array(circles)[:, :2])
    hits, _ = shapely.STRtree(shapely.points(ends)).query(middles, predicate="dwithin", distance=_ON_END_MM)
    return {circles[i] for i in hits.tolist()}


def _without_doubles(circles: list[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    """Return the circles without repeats of one drawn twice."""
    return list({(round(x, 3), round(y, 3), round(d, 3)): (x, y, d) for x, y, d in circles}.values())


def _with_cuts(board: Polygon, cuts: list[Polygon]) -> Polygon:
    """Return the board less its cut-outs; one that lies in another is part of it."""
    if not cuts:
        return board
    shapes = np.array(cuts)
    first, second = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    # Joining thousands of cut-outs that touch nothing would take half of the whole time.
    merged = shapes if (first == second).all() else shapely.get_parts(shapely.unary_union(shapes))
    shapely.prepare(board)
    if shapely.contains_properly(board, merged).all():
        return Polygon(board.exterior, [cut.exterior for cut in merged])
    remaining = board.difference(shapely.unary_union(merged))
    return max(shapely.get_parts(remaining), key=lambda part: part.area)
