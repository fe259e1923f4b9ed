"""What layers show whose names and attributes do not tell: paste lies within mask, mask within copper, drills in both.

A layer of lands lies on the placements of one side. Copper has a land around every hole with metal; the mask is open
over holes for leads and mostly covers vias; paste is on no hole. Where holes do not tell: of two such layers of a side
the one whose openings all lie on openings of the other is the paste; copper has lands where the mask is open, and
tracks. What this does not prove is asked, since a mask that is taken for the paste says nothing true of the stencil.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake import SharedTime, layers_by_kind, read_layer
from capcheck.lands.holes import holes_of
from capcheck.lands.layer_set import places_of_side
from capcheck.lands.registration import Spots, holds, register
from capcheck.lands.shapes import tree_of_boxes
from capcheck.model import (
    LAYERS_OF_LANDS,
    Decision,
    Floats,
    LayerFile,
    LayerKind,
    Note,
    Openings,
    Placements,
    Topic,
    say,
)
from capcheck.values import InputError, Place, in_toml

_SIDES: Final = ("top", "bottom")
_MOST_FILES: Final = 24
_FEWEST: Final = 4
_BETTER: Final = 0.15
_SAME_MM: Final = 0.05
_WITHIN: Final = 0.95
"""Share of the openings of a layer that lie on those of the layer that holds it: fiducials and texts are left out."""
_ON_COPPER: Final = 0.9
_MOST_ON_COPPER: Final = 0.8
"""Holes without metal are open in the mask and have no land; copper of the other side has the holes' lands alone."""
_FEW_LAYERS: Final = 2
_LINES: Final = 0.5
"""Strokes for each land by which of three layers the copper is told, where it alone has so many."""
_TRACKS: Final = 2.5
"""Strokes for each land that copper has: of masks with texts fewer than two (three public boards: 0.9 to 1.5, and 4 to
35 of copper)."""
_FEWEST_HOLES: Final = 8
_LEAD_MM: Final = 0.6
"""Holes at least so wide are for leads, narrower ones vias (common practice, no source); some are the other."""
_IN_MIDDLE_MM: Final = 0.1
_ALL_HOLES: Final = 0.9
_MOST_HOLES: Final = 0.6
_SOME_HOLES: Final = 0.3
_NO_HOLES: Final = 0.1
"""Shares of holes: measured on public boards, copper has 0.99 of all, masks 0.64 to 1 of those for leads, and 0 to 0.1
of vias where these are covered, paste 0 to 0.07 of either."""
_STEP_MM: Final = 0.005
"""Half of the least difference of two layers' openings that is drawn on purpose."""


class SortedLayers(Struct, frozen=True):
    """The layers with what their content proves, and what is said of it."""

    layers: Sequence[LayerFile]
    decisions: Sequence[Decision] = ()
    notes: Sequence[Note] = ()


class _Drawn(Struct, frozen=True):
    layer: LayerFile
    openings: Openings
    spots: Spots
    strokes: int
    """Lines beside those that all layers have, as of a frame with a title."""


class _Metalled:
    """The holes with metal in them, of leads and vias, that a layer may have a land or an opening around."""

    def __init__(self, drills: Sequence[Path], drawn: Sequence[_Drawn]) -> None:
        boxes = [one.openings.box for one in drawn]
        holes = holes_of(drills, np.concatenate(boxes))[0] if boxes else None
        wide = np.zeros(0, np.bool_) if holes is None else (holes.diameter >= _LEAD_MM)[holes.plated != 0.0]
        at = np.zeros((0, 2)) if holes is None else holes.at[holes.plated != 0.0]
        self._leads, self._vias = at[wide], at[~wide]

    def kind(self, one: _Drawn) -> LayerKind | None:
        """Return what a layer is by the holes in the middle of its openings; None where these do not tell."""
        if min(len(self._leads), len(self._vias)) < _FEWEST_HOLES:
            return None
        leads, vias = (self._share(one, at) for at in (self._leads, self._vias))
        if vias <= _SOME_HOLES:
            paste = LayerKind.PASTE if max(leads, vias) <= _NO_HOLES else None
            return LayerKind.MASK if leads >= _MOST_HOLES else paste
        # A mask that leaves vias open has no tracks, and no areas beside its openings.
        lines = one.strokes + one.openings.regions
        return LayerKind.COPPER if min(leads, vias) >= _ALL_HOLES and lines else None

    @staticmethod
    def _share(one: _Drawn, at: Floats) -> float:
        off = np.hypot(*(one.spots.at[one.spots.nearest(at)] - at).T)
        return float((off <= _IN_MIDDLE_MM).mean())


def sorted_by_content(
    layers: Sequence[LayerFile], placed: Placements, drills: Sequence[Path], time: SharedTime
) -> SortedLayers:
    """Return the layers, those of unknown content sorted for the sides that have parts and no layer that is known.

    They are read and laid onto the parts while *time* is left; of some of them alone nothing is told.
    """
    known = layers_by_kind(layers)
    places = {side: places_of_side(placed, side) for side in _SIDES}
    wanting = [
        side for side in _SIDES if len(places[side]) >= _FEWEST and not any((k, side) in known for k in LAYERS_OF_LANDS)
    ]
    unknown = [one for one in layers if not (one.stated or (one.kind is not None and one.side))]
    if not wanting or not unknown or len(unknown) > _MOST_FILES:
        return SortedLayers(layers)
    drawn = _read(unknown, time)
    of_side = _by_side(drawn, places, time)
    if time.seconds <= 0:
        said = say("lands.no time to tell", count=len(unknown))
        return SortedLayers(layers, notes=[Note(said, Place(str(unknown[0].file)))])
    metalled = _Metalled(drills, [one for own in of_side.values() for one in own])
    told: dict[LayerFile, tuple[LayerKind, str]] = {}
    asked: list[Note] = []
    for side in wanting:
        beside = [one for one in drawn if not any(one in own for own in of_side.values())]
        found = _agreed(_by_holes(of_side[side], beside, metalled), _kinds(of_side[side], beside))
        told |= {one: (kind, side) for one, kind in found.items()}
        asked += [
            Note(say("lands.not told", side=side, file=one.layer.file.name), Place(str(one.layer.file)))
            for one in of_side[side]
            if one.layer not in found
        ]
    sorted_ = [replace(one, kind=told[one][0], side=told[one][1]) if one in told else one for one in layers]
    decisions = [
        Decision(
            Topic.LAYERS,
            say("lands.told by content", layer=str(kind), side=side),
            say(f"lands.told as {kind}", side=side),
            settle=f'[layers] {in_toml(layer.file.name)} = "{kind} {side}"',
            place=Place(str(layer.file)),
        )
        for layer, (kind, side) in told.items()
    ]
    return SortedLayers(sorted_, decisions, asked)


def _read(layers: Sequence[LayerFile], time: SharedTime) -> list[_Drawn]:
    """Return what layers flash, of those of which something can be said. What cannot be read may be no layer at all."""
    found: list[tuple[LayerFile, Openings]] = []
    for layer in layers:
        with contextlib.suppress(InputError), time.used_here():
            openings = read_layer(layer.file, whole=False, shared=time)
            if len(openings) >= _FEWEST:
                found.append((layer, openings))
    common = min((openings.strokes for _, openings in found), default=0) if len(found) > _FEW_LAYERS else 0
    return [_Drawn(layer, read, Spots(read.box), read.strokes - common) for layer, read in found]


def _by_side(drawn: Sequence[_Drawn], places: Mapping[str, Floats], time: SharedTime) -> dict[str, list[_Drawn]]:
    """Return the layers that lie on the placements of each side, and clearly less on those of the other."""
    found: dict[str, list[_Drawn]] = {side: [] for side in _SIDES}
    for one in drawn:
        with time.used_here():
            tried = {side: at for side, at in places.items() if len(at) >= _FEWEST and time.seconds > 0}
            on = {side: register(one.spots, at) for side, at in tried.items()}
        if not on:
            continue
        best = max(on, key=lambda side: on[side].match)
        others = [other.match for side, other in on.items() if side != best]
        if holds(on[best]) and all(on[best].match >= match + _BETTER for match in others):
            found[best].append(one)
    return found


def _by_holes(own: Sequence[_Drawn], others: Sequence[_Drawn], metalled: _Metalled) -> dict[LayerFile, LayerKind]:
    """Return what the layers of a side are, as far as holes tell: one mask, with one paste in it or none, and copper.

    Copper is looked for among *others* too, which lie on neither side's parts: it has most lands that the mask opens.
    """
    told = {one.layer: kind for one in (*own, *others) if (kind := metalled.kind(one)) is not None}
    masks, pastes = ([one for one in own if told.get(one.layer) is kind] for kind in (LayerKind.MASK, LayerKind.PASTE))
    if len(masks) != 1 or len(pastes) > 1 or any(_inside(paste, masks[0]) < _WITHIN for paste in pastes):
        return {}
    coppers = [(_within(masks[0], one), one) for one in (*own, *others) if told.get(one.layer) is LayerKind.COPPER]
    coppers.sort(key=lambda one: -one[0])
    chosen = [*masks, *pastes]
    if coppers and coppers[0][0] >= _MOST_ON_COPPER and all(coppers[0][0] >= on + _BETTER for on, _ in coppers[1:]):
        chosen.append(coppers[0][1])
    return {one.layer: told[one.layer] for one in chosen}


def _agreed(one: dict[LayerFile, LayerKind], other: dict[LayerFile, LayerKind]) -> dict[LayerFile, LayerKind]:
    """Return what either says where neither contradicts the other, and no two layers are the same; else nothing."""
    both = {**one, **other}
    if any(both[layer] is not kind for layer, kind in one.items()) or len(set(both.values())) < len(both):
        return {}
    return both


def _kinds(own: Sequence[_Drawn], others: Sequence[_Drawn]) -> dict[LayerFile, LayerKind]:
    """Return what the layers of a side are, as far as one holds the other; *others* lie on neither side's parts."""
    chain = sorted(own, key=lambda one: -len(one.openings))
    lined = [one for one in chain if one.strokes > _LINES * one.openings.flashed]
    if len(chain) == len(LAYERS_OF_LANDS) and len(lined) == 1:
        copper, rest = lined[0], [one for one in chain if one is not lined[0]]
        if all(_inside(one, copper) >= _WITHIN for one in rest) and _holds_other(*rest) and not _wider(copper, rest[0]):
            return dict(zip((one.layer for one in (*rest, copper)), LAYERS_OF_LANDS, strict=True))
    if not 1 <= len(chain) <= len(LAYERS_OF_LANDS) or not all(_holds_other(*two) for two in pairwise(chain)):
        return {}
    copper_of, plain = _copper_of(chain, others)
    kinds: list[LayerKind] = []
    if len(plain) == 2:
        kinds = [LayerKind.MASK, LayerKind.PASTE]
    elif len(plain) == 1 and copper_of is not None and (wider := _wider(plain[0], copper_of)) is not None:
        kinds = [LayerKind.MASK if wider else LayerKind.PASTE]
    if not kinds:
        return {}
    found = {one.layer: kind for one, kind in zip(plain, kinds, strict=True)}
    return found if copper_of is None else {**found, copper_of.layer: LayerKind.COPPER}


def _copper_of(chain: Sequence[_Drawn], others: Sequence[_Drawn]) -> tuple[_Drawn | None, Sequence[_Drawn]]:
    """Return the copper of layers of which each holds the next, and the rest; of *others* where it is none of these.

    Copper is full of vias, beside which parts do not lie in the middle of lands: it may seem to lie on no side's parts.
    """
    first = chain[0]
    strokes = [one.strokes for one in chain]
    if len(chain) == len(LAYERS_OF_LANDS):
        is_first = strokes[0] > max(strokes[1:]) and not _wider(first, chain[1])
        return (first, chain[1:]) if is_first else (None, ())
    if _has_tracks(first) or (len(chain) > 1 and _wider(chain[1], first)):
        return first, chain[1:]
    if strokes[0] > first.openings.flashed:
        return None, ()  # it may be a mask with texts, or copper with few tracks
    coppers = [one for one in others if _has_tracks(one) and _within(first, one) >= _ON_COPPER]
    return coppers[0] if len(coppers) == 1 else None, chain


def _has_tracks(one: _Drawn) -> bool:
    return one.strokes > _TRACKS * one.openings.flashed


def _within(inner: _Drawn, outer: _Drawn) -> float:
    """Return the share of openings that have one of the other layer in their middle."""
    nearest = outer.spots.nearest(inner.spots.at)
    off = np.hypot(*(outer.spots.at[nearest] - inner.spots.at).T)
    return float((off <= _SAME_MM).mean())


def _inside(inner: _Drawn, outer: _Drawn) -> float:
    """Return the share of openings whose middle lies in an opening of the other layer: panes of paste in one land."""
    import shapely

    boxes = tree_of_boxes(outer.openings.box)
    hit = boxes.query(shapely.points(inner.spots.at), predicate="intersects")[0]
    return len(set(hit.tolist())) / len(inner.spots)


def _holds_other(outer: _Drawn, inner: _Drawn) -> bool:
    """Whether a layer holds another that does not hold it: by its count, its larger openings, or its tracks."""
    if _inside(inner, outer) < _WITHIN:
        return False
    tracks = _has_tracks(outer) and not _has_tracks(inner)
    return tracks or _inside(outer, inner) < _WITHIN or _wider(outer, inner) is True


def _wider(one: _Drawn, other: _Drawn) -> bool | None:
    """Whether openings are larger than those of another layer at the same places; None where most are alike."""
    nearest = other.spots.nearest(one.spots.at)
    same = np.hypot(*(other.spots.at[nearest] - one.spots.at).T) <= _SAME_MM
    if not same.any():
        return None
    apart = float(np.median((one.spots.size - other.spots.size[nearest])[same].min(axis=1)))
    return None if abs(apart) <= 2 * _STEP_MM else apart > 0
