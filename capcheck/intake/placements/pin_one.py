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
from capcheck.model import Flags, Floats, Kind, Note, Side
from capcheck.values import Place, shortened

if TYPE_CHECKING:
    from capcheck.intake.placements.placement_table import PlacementColumns

_ODD: Final = 1e-4
_MOST_ODD: Final = 0.3
_LEAST_MM: Final = 0.05
_SLANTED: Final = 0.2
"""A corner is where the lesser coordinate of pad 1 is at least this share of the greater one."""


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
        pair = _pad_pair(file)
        corners = _corners(file, polar, pair) if pair is not None else {}
        if corners:
            notes += _shown(file, corners)
        else:
            unknown += [file.ref[i] for i in np.flatnonzero(polar).tolist()]
    if unknown:
        notes.append(
            Note(
                "rotation: no file shows how parts lie at 0° (pin 1 upper left or lower left, by the library's "
                f"convention); the polar parts depend on it: {shortened(unknown)}; a drawing that shows pin 1 of one "
                "part of each package settles it"
            )
        )
    return notes


def _odd_angles(file: PlacementColumns) -> list[Note]:
    """Return a note that lists the parts at angles that are no multiple of 45 degrees; many of them are no oddity."""
    off = np.abs(file.rotation_deg / 45.0 - np.round(file.rotation_deg / 45.0)) > _ODD
    rows = np.flatnonzero(off & (file.kind == Kind.PART)).tolist()
    if not rows or len(rows) > _MOST_ODD * len(file):
        return []
    refs = [file.ref[i] for i in rows]
    angles = ", ".join(f"{angle:g}°" for angle in sorted({float(file.rotation_deg[i]) for i in rows})[:6])
    verb = "stands at an angle that is" if len(rows) == 1 else "stand at angles that are"
    return [
        Note(
            f"rotation: {shortened(refs)} {verb} no multiple of 45° ({angles})",
            Place(file.table.file, int(file.row[rows[0]])),
        )
    ]


def _mirrored_angles(files: Sequence[PlacementColumns]) -> list[Note]:
    """Return a note on polar parts of the bottom.

    A mirror about y makes 180° less the angle of it, one about x its negative; the two differ by half a turn.
    """
    refs = [file.ref[i] for file in files for i in np.flatnonzero(_polar(file) & (file.side == Side.BOTTOM)).tolist()]
    if not refs:
        return []
    return [
        Note(
            "rotation: x of the bottom side was written mirrored, and its angles may be too (180° − angle, or −angle); "
            f"they are taken as written; the polar parts on the bottom depend on it: {shortened(refs)}; a picture that "
            "shows pin 1 of some of them settles it"
        )
    ]


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


def _corners(file: PlacementColumns, polar: Flags, pad: tuple[Floats, Floats]) -> dict[str, dict[str, list[str]]]:
    """Return the references by footprint and by the place of pad 1 once the part's own angle is taken off.

    Parts on the bottom are left out: whether their angles are mirrored is another question.
    """
    angle = np.radians(-file.rotation_deg)
    dx, dy = pad[0] - file.x, pad[1] - file.y
    x, y = dx * np.cos(angle) - dy * np.sin(angle), dx * np.sin(angle) + dy * np.cos(angle)
    least = _LEAST_MM / (file.stated.factor if file.stated else 1.0)
    found: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for i in np.flatnonzero(polar & (file.side == Side.TOP) & (np.hypot(x, y) > least)).tolist():
        name = file.text(Role.FOOTPRINT, i) or prefix_of(file.ref[i])
        found[name][_place(float(x[i]), float(y[i]))].append(file.ref[i])
    return found


def _place(x: float, y: float) -> str:
    if abs(y) < _SLANTED * abs(x):
        return "left" if x < 0 else "right"
    if abs(x) < _SLANTED * abs(y):
        return "above" if y > 0 else "below"
    return f"{'upper' if y > 0 else 'lower'} {'left' if x < 0 else 'right'}"


def _shown(file: PlacementColumns, corners: dict[str, dict[str, list[str]]]) -> list[Note]:
    """Return the note on where pin 1 lies, and one on footprints whose parts contradict one another."""
    by_place: dict[str, list[str]] = defaultdict(list)
    mixed = []
    for name, places in corners.items():
        if len(places) > 1:
            mixed.append(f"{name} ({', '.join(f'{place}: {shortened(refs, 3)}' for place, refs in places.items())})")
            continue
        ((place, refs),) = places.items()
        by_place[place] += refs
    notes = []
    if by_place:
        ordered = sorted(by_place.items(), key=lambda found: -len(found[1]))
        shown = "; ".join(f"{place} of {shortened(refs)}" for place, refs in ordered)
        notes.append(Note(f"rotation: at 0° pad 1 lies {shown}, by the coordinates of pad 1", Place(file.table.file)))
    if mixed:
        notes.append(
            Note(
                f"rotation: pad 1 and angles contradict one another within a footprint: {'; '.join(mixed[:5])}; "
                "which parts are turned?",
                Place(file.table.file),
            )
        )
    return notes


def _is_polar(letters: str) -> bool:
    known = reference_letters().get(letters)
    return known is not None and known.polar
