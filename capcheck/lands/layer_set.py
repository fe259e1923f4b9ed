"""All layers of a board and its drills, in the frame of its placements: read where they are asked for, each once."""

from __future__ import annotations

import filecmp
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

import numpy as np
from msgspec.structs import replace

from capcheck.intake import SharedTime, Windows, drawn_around, layers_by_kind, read_layer
from capcheck.lands.holes import holes_of
from capcheck.lands.registration import LEAST_MATCH, Spots, holds, register
from capcheck.lands.shapes import middles, share_within, sizes
from capcheck.model import (
    LAYERS_OF_LANDS,
    Decision,
    Floats,
    Holes,
    Kind,
    LayerFile,
    LayerKind,
    Note,
    Openings,
    Placements,
    Registered,
    Side,
    Topic,
    say,
)
from capcheck.values import InputError, Place

_SIDES: Final = ("top", "bottom")
_FILLED: Final = 0.5
"""Share of its box that a land covers, if it lies along an axis or is round."""
_CODES: Final = {"top": Side.TOP, "bottom": Side.BOTTOM}


class LayerSet:
    """The layers of a board by what they show and side; openings are read when asked for, in the board's frame."""

    def __init__(self, files: Sequence[LayerFile], drills: Sequence[Path], time: SharedTime) -> None:
        self.files: Mapping[tuple[LayerKind, str], LayerFile] = layers_by_kind(files)
        self._drills, self._time = drills, time
        self._read: dict[tuple[LayerKind, str, bool], Openings | None] = {}
        self._holes: Holes | None = None
        self.registered: dict[str, Registered] = {}
        self.notes: list[Note] = []
        self.decisions: list[Decision] = []
        for one, others in _rivals(files, self.files):
            self.leave_out(*one)
            names = [layer.file.name for layer in others]
            said = say("lands.several of a kind", layer=str(one[0]), side=one[1], files=names)
            self.notes.append(Note(said, Place(str(others[0].file))))

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
                self._read[key] = read_layer(layer.file, whole=merged, shared=self._time)
            except InputError as error:
                if layer.stated and not error.problems:
                    raise
                self._read[key] = None
                what = error.problems[0].what
                self.notes.append(Note(say("lands.not read", what=what), Place(str(layer.file))))
        return self._read[key]

    def leave_out(self, kind: LayerKind, side: str) -> None:
        """Have nothing of a layer, as where it cannot be read."""
        self._read |= dict.fromkeys(((kind, side, True), (kind, side, False)), None)

    def read_now(self) -> None:
        """Read what an archive holds, which is there only while the board is read: the masks and the pastes."""
        for kind, side in self.files:
            if kind in {LayerKind.MASK, LayerKind.PASTE} and side in self.registered:
                self.as_drawn(kind, side)

    def files_read(self) -> list[Path]:
        """Return the layers that were asked for so far, and the drills."""
        layers = [self.files[kind, side].file for kind, side, _ in self._read]
        return [*dict.fromkeys(layers), *(self._drills if self._holes is not None else ())]

    def openings(self, kind: LayerKind, side: str, *, whole: bool | None = None) -> Openings | None:
        """Return the openings of a layer in the frame of the placements; None where its side is not registered."""
        drawn = self.as_drawn(kind, side, whole=whole)
        if drawn is None or side not in self.registered:
            return None
        return _shifted(drawn, self.registered[side].shift)

    def drawn_around(
        self, kind: LayerKind, side: str, places: Floats, reach: Sequence[float]
    ) -> list[tuple[float, float]] | None:
        """Return how far what a layer draws at each place (n, 2) reaches, and how far off more begins, at most *reach*.

        Nothing of a side that is not registered or has no such layer, None where its layer cannot be read, or is print
        that does not lie with the lands.
        """
        layer = self.files.get((kind, side))
        if layer is None or side not in self.registered:
            return []
        if self._read.get((kind, side, True), layer) is None:
            return None
        own = (places - np.array(self.registered[side].shift)).tolist()
        shows_lands = self.kind_of_lands(side) if kind is LayerKind.LEGEND else None
        lands = None if shows_lands is None else self.as_drawn(shows_lands, side)
        # An opening along the edge has all print within its box, and none on it.
        filled = [] if lands is None else lands.box[lands.area >= _FILLED * sizes(lands.box).prod(axis=1)].tolist()
        boxes = [(a, b, c, d) for a, b, c, d in filled]
        same = bool(layer.frame) and shows_lands is not None and self.files[shows_lands, side].frame == layer.frame
        try:
            return drawn_around(layer.file, Windows([(x, y) for x, y in own], list(reach), boxes, same), self._time)
        except InputError as error:
            self.notes.append(Note(say("lands.not read", what=error.problems[0].what), Place(str(layer.file))))
            return None

    def kind_of_lands(self, side: str) -> LayerKind | None:
        """Return which layer shows the lands of a side: openings of the mask, else paste, else flashed copper."""
        return next((kind for kind in LAYERS_OF_LANDS if len(self.as_drawn(kind, side) or ())), None)

    def file_of_lands(self) -> dict[str, str]:
        """Return the name of the file that shows the lands of each side that lies on its placements."""
        kinds = {side: self.kind_of_lands(side) for side in self.registered}
        return {side: self.files[kind, side].file.name for side, kind in kinds.items() if kind is not None}

    def holes(self, side: str) -> Holes:
        """Return the drilled holes in the frame of the placements, as a registered side's lands are shifted."""
        if self._holes is None:
            drawn = [self.as_drawn(kind, side) for side in _SIDES if (kind := self.kind_of_lands(side)) is not None]
            boxes = [one.box for one in drawn if one is not None]
            self._holes, notes = holes_of(self._drills, np.concatenate(boxes) if boxes else np.zeros((0, 4)))
            self.notes += notes
        return self._holes.shifted(self.registered[side].shift)


def _rivals(
    files: Sequence[LayerFile], chosen: Mapping[tuple[LayerKind, str], LayerFile]
) -> Iterator[tuple[tuple[LayerKind, str], list[LayerFile]]]:
    """Yield the layers of which several files say with equal right that they are it, and differ: revisions, or two."""
    for key, one in chosen.items():
        by = one.stated, one.by_entry
        alike = [other for other in files if (other.kind, other.side, other.stated, other.by_entry) == (*key, *by)]
        if any(not filecmp.cmp(one.file, other.file, shallow=False) for other in alike if other is not one):
            yield key, alike


def layers_of(files: Sequence[LayerFile], drills: Sequence[Path], time: SharedTime) -> LayerSet | None:
    """Return the layers of a board, not yet laid onto its placements, to be read in *time*; None where it has none."""
    known = [layer for layer in files if layer.kind is not None]
    return LayerSet(known, drills, time) if known else None


def lay_onto(layers: LayerSet, placed: Placements, *, one_circuit: bool = False) -> None:
    """Register each side of layers to the placements; of a panel that board.toml steps to the first circuit alone."""
    places = {side: places_of_side(placed, side, first_circuit=one_circuit) for side in _SIDES}
    known: tuple[float, float] | None = None
    for side in sorted(_SIDES, key=lambda side: -len(places[side])):
        kind = layers.kind_of_lands(side) if len(places[side]) else None
        lands = None if kind is None else layers.as_drawn(kind, side)
        if kind is None or lands is None:
            continue
        found = register(Spots(lands.box), places[side], known)
        fits = holds(found, known_shift=found.shift == known)
        _decide(layers, side, kind, found, fits=fits)
        known = found.shift if fits else known
        if fits and kind is LayerKind.MASK:
            _refuse_paste_beside(layers, side, lands)


def _refuse_paste_beside(layers: LayerSet, side: str, mask: Openings) -> None:
    """Leave out a paste that does not lie in the mask: in another frame it would say that no land has any."""
    paste = layers.as_drawn(LayerKind.PASTE, side)
    if paste is None or not len(paste):
        return
    share = share_within(middles(paste.box), mask)
    if share < LEAST_MATCH:
        said = say("lands.beside the mask", side=side, share=round(100 * share), count=len(paste))
        layers.notes.append(Note(said, Place(str(layers.files[LayerKind.PASTE, side].file))))
        layers.leave_out(LayerKind.PASTE, side)


def _decide(layers: LayerSet, side: str, kind: LayerKind, found: Registered, *, fits: bool) -> None:
    """Put on record how a side's lands lie, or that they are of no use."""
    file = layers.files[kind, side].file
    told = {"layer": str(kind), "side": side, "share": round(100 * found.match), "count": found.judged}
    if not fits:
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
            place=Place(str(file)),
        )
    )


def places_of_side(placed: Placements, side: str, *, first_circuit: bool = False) -> Floats:
    """Return the places of the parts of a side, shape (n, 2) in mm."""
    rows = (placed.side == _CODES[side]) & (placed.kind == Kind.PART)
    if first_circuit:
        rows &= np.array(["/" not in ref for ref in placed.ref], dtype=np.bool_)
    return np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])


def _shifted(drawn: Openings, shift: tuple[float, float]) -> Openings:
    if shift == (0.0, 0.0):
        return drawn
    x, y = shift
    rings = [(np.asarray(ring).reshape(-1, 2) + shift).ravel().tolist() for ring in drawn.rings]
    return replace(drawn, box=drawn.box + np.array([x, y, x, y]), rings=rings)
