"""Of two places that files give for parts, the right one is in the middle of the lands.

Measured on public boards: one board's workbook held the place of pad 1 for 655 parts, its text file their centres.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.lands.registration import Spots, mirrored, register
from capcheck.model import Decision, Flags, Floats, Kind, OtherPlaces, Placements, Said, Side, Topic, say
from capcheck.values import Place

if TYPE_CHECKING:
    from capcheck.lands.layer_set import LayerSet

_FEWEST: Final = 4
_LEAST_SHARE: Final = 0.5
_TIMES: Final = 2
_CODES: Final = {"top": Side.TOP, "bottom": Side.BOTTOM}


class SettledPlaces(Struct, frozen=True):
    """The placements with the places that lie on the lands, and the decisions; *settled* are those that are decided."""

    placements: Placements
    decisions: Sequence[Decision] = ()
    settled: Sequence[OtherPlaces] = ()


def settle_places(layers: LayerSet, placed: Placements, others: Sequence[OtherPlaces]) -> SettledPlaces:
    """Return the placements with each question between two places answered that the lands answer."""
    decisions: list[Decision] = []
    settled: list[OtherPlaces] = []
    for other in others:
        here, there = _with(placed, other, other.here), _with(placed, other, other.there)
        on_here, on_there = (_on_lands(layers, placements)[other.rows] for placements in (here, there))
        judged = placed.kind[other.rows] == Kind.PART
        count, kept, moved = (int(np.count_nonzero(flags & judged)) for flags in (on_here | True, on_here, on_there))
        most, least = max(kept, moved), min(kept, moved)
        if most < max(_FEWEST, _LEAST_SHARE * count) or most < _TIMES * least + _FEWEST:
            continue
        placed = here if kept > moved else there
        settled.append(other)
        decisions.append(_decision(other, count, kept, moved))
    return SettledPlaces(placed, decisions, settled)


def _with(placed: Placements, other: OtherPlaces, at: Floats) -> Placements:
    x, y = placed.x_mm.copy(), placed.y_mm.copy()
    x[other.rows], y[other.rows] = at.T
    unsure = None if placed.place_open is None else placed.place_open.copy()
    if unsure is not None:
        unsure[other.rows] = False
    return replace(placed, x_mm=x, y_mm=y, place_open=unsure)


def _on_lands(layers: LayerSet, placed: Placements) -> Flags:
    """Return which rows lie in the middle of their lands, each side as its layer lies to these placements."""
    found = np.zeros(len(placed), dtype=np.bool_)
    for side, code in _CODES.items():
        kind = layers.kind_of_lands(side)
        drawn = None if kind is None else layers.as_drawn(kind, side)
        rows = np.flatnonzero((placed.side == code) & (placed.kind == Kind.PART) & np.isfinite(placed.x_mm))
        if drawn is None or not len(rows):
            continue
        spots, places = Spots(drawn.box), np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])
        found[rows] = mirrored(spots, places - np.array(register(spots, places).shift), pads=True)[2]
    return found


def _decision(other: OtherPlaces, count: int, kept: int, moved: int) -> Decision:
    evidence = say("lands.more on their lands", count=count, most=max(kept, moved), least=min(kept, moved))
    name = Path(other.file).name
    if other.titles:
        choice: Said = say("lands.first columns" if kept > moved else "lands.other columns", titles=list(other.titles))
        return Decision(Topic.PLACEMENTS, choice, evidence, place=Place(other.file))
    choice = say("lands.first file" if kept > moved else "lands.other file", file=name, count=count)
    return Decision(Topic.PLACEMENTS, choice, evidence, place=Place(other.file))
