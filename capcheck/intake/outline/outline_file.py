"""A board's outline from its file: which contour of the drawing is the board, in which unit, and what lies inside.

Every choice on the way is a decision with its evidence; a contour that cannot be a board is an error with its place.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.outline import contour_choice as choice
from capcheck.intake.outline.contour_choice import Candidate, Surroundings
from capcheck.intake.outline.contours import GAP_MM, Traced
from capcheck.intake.outline.drawing import MM_PER, Drawing
from capcheck.intake.outline.drawing_unit import UnitEvidence, guess_unit
from capcheck.intake.outline.drawn_around import drawn_as_panel
from capcheck.intake.outline.forms import read_drawing
from capcheck.intake.outline.layer_contours import contours_of_layers
from capcheck.intake.outline.openings import outline_with_openings
from capcheck.intake.outline.stated import (
    dimensions_contradicted,
    holes_stated,
    texts_contradicted,
    thickness_stated,
    thicknesses,
)
from capcheck.intake.outline.tangled import refuse_tangled
from capcheck.model import Decision, Discrepancy, Floats, Note, Outline, Said, Topic, say
from capcheck.values import InputError, Place, nearest

if TYPE_CHECKING:
    from shapely import Polygon
else:
    Polygon = object  # records are decoded by their annotations

_SMALLEST_AREA_MM2: Final = 1.0
_LISTED_LAYERS: Final = 8
_ATTEMPTS: Final = 3
"""Another unit may make another contour the board, which may speak for another unit."""


class OutlineOptions(Struct, frozen=True):
    """What the user states of the outline: *layer*, *unit* (mm, inch, mil, cm, µm), the widest gap that is closed."""

    layer: str | None = None
    unit: str | None = None
    tolerance_mm: float | None = None
    panel_stated: bool = False
    """Whether it is known what panel the board comes in, or that it comes in none."""


class OutlineReading(Struct, frozen=True):
    """An outline as understood, with what was decided on the way; *unit* is the drawing's."""

    outline: Outline
    decisions: tuple[Decision, ...]
    notes: tuple[Note, ...]
    unit: str
    discrepancies: tuple[Discrepancy, ...] = ()
    as_stated: bool = True
    """Whether *unit* is none other than the one the file states."""
    named_openings: tuple[Polygon, ...] = ()
    """Openings that the name of their own layer says to be openings."""
    second_lines: tuple[Polygon, ...] = ()
    """Closed lines along the inside of the contour: each may be the edge."""
    thicknesses: tuple[float, ...] = ()
    """Thicknesses of the board in mm that texts of the drawing state."""


def read_outline(
    path: Path,
    options: OutlineOptions,
    expected_points: Floats | None = None,
    *,
    unscaled_points: Floats | None = None,
    likely_points: Floats | None = None,
) -> OutlineReading:
    """Read the board's outline from the file at *path*, in any form of the folder ``forms``.

    *expected_points*, n × 2 in mm, are the placements, where their unit is known: evidence for the unit and the
    contour, whether they share the outline's origin or not. *unscaled_points* are placements whose unit nobody states:
    they tell an outline's unit only so far as some unit of theirs must fill the board. *likely_points* are placements
    in mm by the looks of them: evidence for the contour alone.

    Raises :class:`InputError` with the position: a file that cannot be read, no closed contour, one that crosses
    itself or has no area, two boards.
    """
    drawing = read_drawing(path, options.unit)
    if not drawing.strokes and not drawing.circles:
        raise InputError.at(
            str(path),
            "nothing in it can be a contour",
            "there are no lines, arcs, polylines or curves",
            "export the board's outline as lines",
        )
    layer = _layer_named(drawing, options.layer)
    refuse_tangled(drawing, layer)
    tolerance = GAP_MM if options.tolerance_mm is None else options.tolerance_mm
    points = _finite(expected_points)
    around = _finite(likely_points) if points is None else points
    evidence = UnitEvidence(drawing.unit, drawing.metric_hint, points, _finite(unscaled_points))
    extent = drawing.extent()
    unit = options.unit or guess_unit(extent, extent, evidence)[0]
    decisions: list[Decision] = []
    for attempt in range(1, _ATTEMPTS + 1):
        factor = MM_PER[unit]
        traced = contours_of_layers(drawing, layer, factor=factor, tolerance_mm=tolerance)
        ranked = choice.rank(traced, Surroundings(around, drawing.texts() * factor, drawing.hidden_layers))
        if not ranked:
            raise _no_contour(drawing, traced, factor)
        best = ranked[0]
        if options.unit:
            break
        along_x, along_y = best.size()
        west, south, east, north = (end / factor for end in best.polygon.bounds)
        evidence = replace(evidence, box=(west, south, east, north))
        better, decision = guess_unit(along_x / factor, along_y / factor, evidence)
        decisions = [decision] if decision else []
        if better == unit or attempt == _ATTEMPTS:
            break
        unit = better
    _refuse(best, ranked, drawing.file, tolerance)
    if drawing.repaired is not None:
        decisions.append(_repaired(best, drawing.repaired))
    chosen, rival = choice.decide(best, ranked, one_layer=layer is not None or len(drawing.layers()) == 1)
    decisions += chosen
    if not options.panel_stated and not any(
        decision.topic is Topic.OUTLINE_CONTOUR and decision.open for decision in decisions
    ):
        decisions += drawn_as_panel(best, ranked, one_layer=layer is not None)
    opened = outline_with_openings(best, traced, drawing, factor=factor, tolerance_mm=tolerance)
    notes = [*drawing.notes, *_mended(best, traced, tolerance), *opened.notes]
    place = Place(drawing.file)
    thick, where = thickness_stated(drawing, factor)
    holes = holes_stated(drawing, factor)
    return OutlineReading(
        replace(opened.outline, rival=rival, thickness_mm=thick, thickness_from=where, stated_holes=holes),
        tuple(replace(decision, place=place) for decision in decisions),
        tuple(Note(said, place) for said in notes),
        unit,
        (*opened.discrepancies, *dimensions_contradicted(drawing, factor), *texts_contradicted(drawing, factor)),
        unit in {drawing.unit, options.unit} or drawing.unit is None,
        opened.named,
        opened.second_lines,
        (*thicknesses(drawing), *filter(None, [thick])),
    )


def _finite(points: Floats | None) -> Floats | None:
    if points is None:
        return None
    points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    return points[np.isfinite(points).all(axis=1)]


def _layer_named(drawing: Drawing, wanted: str | None) -> str | None:
    """Return the layer of this name as the drawing spells it. Raises :class:`InputError` where there is none."""
    if wanted is None:
        return None
    names = drawing.layers()
    found = next((name for name in names if name.lower() == wanted.lower()), None)
    if found is None:
        listed = ", ".join(f'"{n}"' for n in names[:_LISTED_LAYERS]) + (" …" if len(names) > _LISTED_LAYERS else "")
        raise InputError.at(
            drawing.file,
            f'there is no layer "{wanted}" with lines on it',
            f"its layers are {listed}",
            nearest(wanted, names) or "name one of them as layer under [outline] in board.toml",
        )
    return found


def _place(file: str, layer: str) -> Place:
    return Place(file, column=f'layer "{layer}"' if layer else None)


def _no_contour(drawing: Drawing, traced: list[Traced], factor: float) -> InputError:
    flat = next((t.flat for t in traced if t.flat is not None), None)
    if flat is not None:
        what = f"the closed line at ({flat[0]:.4g}, {flat[1]:.4g}) mm encloses no area"
        return InputError.at(drawing.file, what, "it runs back on itself", "draw the contour again")
    first = drawing.strokes[0]
    x, y = first.vertices[0] * factor
    return InputError.at(
        _place(drawing.file, first.layer),
        f"no line closes to a contour (the first begins at ({x:.4g}, {y:.4g}) mm)",
        "a board's outline is a closed line",
        "close it, or name the right layer or unit under [outline]",
    )


def _refuse(best: Candidate, ranked: list[Candidate], file: str, tolerance_mm: float) -> None:
    """Raise for a board contour that is open, crosses itself, has no area, or is one of two."""
    where = _place(file, best.layer)
    if best.chain is not None:
        (x0, y0), (x1, y1) = best.chain.ends
        raise InputError.at(
            where,
            f"the outline is open between ({x0:.4f}, {y0:.4f}) and ({x1:.4f}, {y1:.4f}) mm",
            f"the gap is {best.chain.gap_mm:.4g} mm, gaps up to {tolerance_mm:g} mm are closed",
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
    others = choice.rivals(best, ranked)
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


def _repaired(best: Candidate, how: Said) -> Decision:
    """Return the open decision whether a drawing that had to be repaired shows the board as it is."""
    along_x, along_y = best.size()
    return Decision(
        topic=Topic.OUTLINE_CONTOUR,
        choice=say("outline.as repaired", length=along_x, width=along_y),
        evidence=how,
        open=True,
    )


def _mended(best: Candidate, traced: list[Traced], tolerance_mm: float) -> list[Said]:
    """Return what had to be mended on the board's contour."""
    if best.contour is None:
        return []
    notes = [
        say("outline.gaps closed", count=t.gaps_closed, widest=t.widest_gap_mm, tolerance=tolerance_mm)
        for t in traced
        if t.gaps_closed and t.widest_gap_mm > 0 and any(c is best.contour for c in t.contours)
    ]
    if best.contour.divided > 1:
        notes.append(say("outline.divided", fields=best.contour.divided))
    return notes
