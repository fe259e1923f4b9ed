"""All layers of a board and its drills, in the frame of its placements: read where they are asked for, each once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

import numpy as np
from msgspec.structs import replace

from capcheck.intake import LayerFile, LayerKind, Openings, Package, expect_layer, read_layer
from capcheck.lands.holes import Holes, holes_of
from capcheck.lands.registration import Registered, Spots, register
from capcheck.model import Decision, Floats, Kind, Note, Placements, Side, Topic, say
from capcheck.values import InputError, Place

_BEST_FIRST: Final = (LayerKind.MASK, LayerKind.PASTE, LayerKind.COPPER)
_SIDES: Final = ("top", "bottom")
_CODES: Final = {"top": Side.TOP, "bottom": Side.BOTTOM}


class LayerSet:
    """The layers of a board by what they show and side; openings are read when asked for, in the board's frame."""

    def __init__(self, files: Sequence[LayerFile], drills: Sequence[Path]) -> None:
        self.files: Mapping[tuple[LayerKind, str], LayerFile] = {
            (layer.kind, layer.side): layer for layer in reversed(files) if layer.kind is not None and layer.side
        }
        self._drills = drills
        self._read: dict[tuple[LayerKind, str, bool], Openings | None] = {}
        self._holes: Holes | None = None
        self.registered: dict[str, Registered] = {}
        self.notes: list[Note] = []
        self.decisions: list[Decision] = []

    def as_drawn(self, kind: LayerKind, side: str, *, whole: bool | None = None) -> Openings | None:
        """Return the openings of a layer in its own frame; None where there is no such layer, or it cannot be read.

        Of copper, not *whole*, the flashed pads and areas alone are read, not merged.
        """
        layer = self.files.get((kind, side))
        if layer is None:
            return None
        merged = kind is not LayerKind.COPPER if whole is None else whole
        key = kind, side, merged
        if key not in self._read:
            try:
                self._read[key] = read_layer(layer.file, whole=merged)
            except InputError as error:
                if layer.stated and not error.problems:
                    raise
                self._read[key] = None
                what = error.problems[0].what
                self.notes.append(Note(say("lands.not read", what=what), Place(str(layer.file))))
        return self._read[key]

    def openings(self, kind: LayerKind, side: str, *, whole: bool | None = None) -> Openings | None:
        """Return the openings of a layer in the frame of the placements; None where its side is not registered."""
        drawn = self.as_drawn(kind, side, whole=whole)
        if drawn is None or side not in self.registered:
            return None
        return _shifted(drawn, self.registered[side].shift)

    def lands(self, side: str) -> tuple[LayerKind, Openings] | None:
        """Return the lands of a side in its own frame: openings of the mask, else paste, else flashed copper."""
        for kind in _BEST_FIRST:
            drawn = self.as_drawn(kind, side)
            if drawn is not None and len(drawn):
                return kind, drawn
        return None

    def holes(self, side: str) -> Holes:
        """Return the drilled holes in the frame of the placements, as a registered side's lands are shifted."""
        if self._holes is None:
            boxes = [one[1].box for one in map(self.lands, _SIDES) if one is not None]
            self._holes, notes = holes_of(self._drills, np.concatenate(boxes) if boxes else np.zeros((0, 4)))
            self.notes += notes
        return self._holes.shifted(self.registered[side].shift)


def expect_layers(files: Sequence[LayerFile]) -> None:
    """Have the layers read that a check asks for first, while other work is done."""
    known = LayerSet(files, ()).files
    for side in _SIDES:
        for kind in (LayerKind.MASK, LayerKind.PASTE):
            if (kind, side) in known:
                expect_layer(known[kind, side].file)


def layers_of(package: Package) -> LayerSet | None:
    """Return the layers that are of a board, laid onto its placements; None where it has none, or none is of it."""
    files = [layer for layer in package.layers if layer.kind is not None]
    if not files:
        return None
    layers = LayerSet(files, package.drills)
    for side in _SIDES:
        places = places_of_side(package.placements, side)
        lands = layers.lands(side) if len(places) else None
        if lands is None:
            continue
        kind, drawn = lands
        _decide(layers, side, kind, register(Spots(drawn.box), places))
    return layers if layers.registered or layers.notes else None


def _decide(layers: LayerSet, side: str, kind: LayerKind, found: Registered) -> None:
    """Put on record how a side's lands lie, or that they are of no use."""
    file = layers.files[kind, side].file
    told = {"layer": str(kind), "side": side, "share": round(100 * found.match), "count": found.judged}
    if not found.holds:
        layers.notes.append(Note(say("lands.another board", **told), Place(str(file))))
        return
    layers.registered[side] = found
    x, y = found.shift
    choice = say("lands.shifted", x=x, y=y, **told) if found.shift != (0.0, 0.0) else say("lands.as drawn", **told)
    layers.decisions.append(
        Decision(
            Topic.LAYERS,
            choice,
            say("lands.on their lands", **told),
            settle="layers = false",
            place=Place(str(file)),
        )
    )


def places_of_side(placed: Placements, side: str) -> Floats:
    """Return the places of the parts of a side, shape (n, 2) in mm; of a panel those of all its circuits."""
    rows = (placed.side == _CODES[side]) & (placed.kind == Kind.PART)
    return np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])


def _shifted(drawn: Openings, shift: tuple[float, float]) -> Openings:
    if shift == (0.0, 0.0):
        return drawn
    x, y = shift
    rings = [(np.asarray(ring).reshape(-1, 2) + shift).ravel().tolist() for ring in drawn.rings]
    return replace(drawn, box=drawn.box + np.array([x, y, x, y]), rings=rings)
