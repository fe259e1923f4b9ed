"""How parts lie at 0 degrees: shown by the place of pad 1 where a file has it, else said to be unknown.

Two conventions are published, both counter-clockwise: pin 1 upper left (IPC-7351A) and pin 1 lower left (IEC 61188-7).
Angles that follow another one turn every polar part wrongly, and no other part shows it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.intake.tables import Role, prefix_of, read_title
from capcheck.lexicon import reference_letters
from capcheck.model import Flags, Floats, Kind, Note, Side, say
from capcheck.values import Place

if TYPE_CHECKING:
    from capcheck.intake.placements.placement_columns import PlacementColumns

_ODD: Final = 1e-4
_MOST_ODD: Final = 0.3
_LEAST_MM: Final = 0.05
_SLANTED: Final = 0.2
"""A corner is where the lesser coordinate of pad 1 is at least this share of the greater one."""

_WORDS: Final = {
    (-1, 0): "placements.left",
    (1, 0): "placements.right",
    (0, 1): "placements.above",
    (0, -1): "placements.below",
    (-1, 1): "placements.upper left",
    (1, 1): "placements.upper right",
    (-1, -1): "placements.lower left",
    (1, -1): "placements.lower right",
}


def rotation_notes(files: Sequence[PlacementColumns], *, mirrored: bool = False) -> list[Note]:
    """Return where pin 1 lies at 0 degrees in each file that shows it, or one note that none does.

    Further notes name odd angles and, where x of the bottom was *mirrored*, the polar parts whose angles may be too.
    No note where there are no angles or no polar parts.
    """
    notes = [note for file in files for note in _odd_angles(file)]
    if mirrored:
        notes += _mirrored_angles(files)
    unknown: list[str] = []
    for file in files:
        polar = _polar(file)
        if not polar.any():
            continue
        if corners := _corners(file, polar):
            notes += _shown(file, corners)
        else:
            unknown += [file.ref[i] for i in np.flatnonzero(polar).tolist()]
    if unknown:
        notes.append(Note(say("placements.pin 1 unknown", refs=unknown)))
    return notes


def _odd_angles(file: PlacementColumns) -> list[Note]:
    """Return a note that lists the parts at angles that are no multiple of 45 degrees; many of them are no oddity."""
    off = np.abs(file.rotation_deg / 45.0 - np.round(file.rotation_deg / 45.0)) > _ODD
    rows = np.flatnonzero(off & (file.kind == Kind.PART)).tolist()
    if not rows or len(rows) > _MOST_ODD * len(file):
        return []
    angles = [f"{angle:g}°" for angle in sorted({float(file.rotation_deg[i]) for i in rows})[:6]]
    said = say("placements.odd angles", refs=[file.ref[i] for i in rows], angles=angles)
    return [Note(said, file.place(rows[0]))]


def _mirrored_angles(files: Sequence[PlacementColumns]) -> list[Note]:
    """Return a note on polar parts of the bottom.

    A mirror about y makes 180° less the angle of it, one about x its negative; the two differ by half a turn.
    """
    refs = [file.ref[i] for file in files for i in np.flatnonzero(_polar(file) & (file.side == Side.BOTTOM)).tolist()]
    return [Note(say("placements.mirrored angles", refs=refs))] if refs else []


def _polar(file: PlacementColumns) -> Flags:
    """Return the rows of parts with an angle whose letters say that they must not be turned."""
    numbers, stems = file.stem
    letters = np.array([_is_polar(prefix_of(stem)) for stem in stems], dtype=np.bool_)
    return np.asarray(letters[numbers] & (file.kind == Kind.PART) & np.isfinite(file.rotation_deg), dtype=np.bool_)


def _pad_pair(file: PlacementColumns) -> tuple[Floats, Floats] | None:
    """Return the coordinates of pad 1, told by their titles, or None."""
    for column, pair in zip(file.columns.variants.get(Role.X, ()), file.other_pairs, strict=False):
        title = file.table.header[column] if column < len(file.table.header) else ""
        if read_title(title).concepts & {"pad", "pin"}:
            return pair
    return None


def pin_1_places(files: Sequence[PlacementColumns]) -> Floats | None:
    """Return where pad 1 of each row lies at 0°: shape (n, 2) of −1, 0 and 1, NaN where no file shows it.

    None where none shows any. Parts on the bottom are left out: whether their angles are mirrored is another question.
    """
    found = [_pad_1_of(file) for file in files]
    if all(np.isnan(places).all() for places in found):
        return None
    return np.concatenate(found)


def _pad_1_of(file: PlacementColumns) -> Floats:
    places = np.full((len(file), 2), np.nan)
    pad = _pad_pair(file)
    if pad is None:
        return places
    angle = np.radians(-file.rotation_deg)
    dx, dy = pad[0] - file.x, pad[1] - file.y
    x, y = dx * np.cos(angle) - dy * np.sin(angle), dx * np.sin(angle) + dy * np.cos(angle)
    least = _LEAST_MM / (file.stated.factor if file.stated else 1.0)
    shown = (file.kind == Kind.PART) & (file.side == Side.TOP) & (np.hypot(x, y) > least)
    across = np.where(np.abs(x) < _SLANTED * np.abs(y), 0.0, np.sign(x))
    along = np.where(np.abs(y) < _SLANTED * np.abs(x), 0.0, np.sign(y))
    places[shown] = np.stack([across, along], axis=-1)[shown]
    return places


def _corners(file: PlacementColumns, polar: Flags) -> dict[str, dict[str, list[str]]]:
    """Return the references by footprint and by the place of pad 1 once the part's own angle is taken off."""
    places = _pad_1_of(file)
    found: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for i in np.flatnonzero(polar & np.isfinite(places[:, 0])).tolist():
        name = file.text(Role.FOOTPRINT, i) or prefix_of(file.ref[i])
        found[name][_WORDS[int(places[i, 0]), int(places[i, 1])]].append(file.ref[i])
    return found


def _shown(file: PlacementColumns, corners: dict[str, dict[str, list[str]]]) -> list[Note]:
    """Return the note on where pin 1 lies, and one on footprints whose parts contradict one another."""
    by_place: dict[str, list[str]] = defaultdict(list)
    mixed = []
    for name, places in corners.items():
        if len(places) > 1:
            at = [say("placements.pad 1 at", place=say(p), refs=refs) for p, refs in places.items()]
            mixed.append(say("placements.pads of a footprint", footprint=name, places=at))
            continue
        ((place, refs),) = places.items()
        by_place[place] += refs
    where = Place(file.table.file, sheet=file.table.sheet)
    notes = []
    if by_place:
        ordered = sorted(by_place.items(), key=lambda found: -len(found[1]))
        shown = [say("placements.pad 1 of", place=say(p), refs=refs) for p, refs in ordered]
        notes.append(Note(say("placements.pad 1 lies", places=shown), where))
    if mixed:
        notes.append(Note(say("placements.pads contradict", footprints=mixed[:5]), where))
    return notes


def _is_polar(letters: str) -> bool:
    known = reference_letters().get(letters)
    return known is not None and known.polar
