"""The Gerber layers of a board are laid onto its parts: what lands prove narrows bodies, or contradicts them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake import Package, as_given, time_of_a_board
from capcheck.lands import (
    lands_of_board,
    lands_of_types,
    lay_onto,
    layers_of,
    marks_of_layers,
    settle_places,
    settled_by_lands,
    sorted_by_content,
    tooling_holes,
    with_lands,
)
from capcheck.model import BoardLands, Body, InputFile, Mark, Note, OtherPlaces, PartName, Placements, Said, Topic, say
from capcheck.packages import bodies_of
from capcheck.values import Place

if TYPE_CHECKING:
    from capcheck.lands import LayerSet
    from capcheck.model import Decision, Discrepancy
    from capcheck.packages import Library


class ReadLands(Struct, frozen=True):
    """The package with what layers say of it; placements, types and bodies with what lands prove of them."""

    package: Package
    placements: Placements
    types: Sequence[PartName]
    bodies: Sequence[Body]
    lands: BoardLands | None = None


def read_lands(
    package: Package,
    placed: Placements,
    types: Sequence[PartName],
    bodies: Sequence[Body],
    library: Library | None,
    *,
    marks: bool = True,
) -> ReadLands:
    """Return what the layers of a package prove of its parts; nothing where none of them lies on the placements.

    Without *marks* no fiducials are looked for, and copper stays unread.
    """
    time = time_of_a_board()
    by_content = sorted_by_content(package.layers, placed, package.drills, time)
    package = replace(package, layers=by_content.layers, notes=as_given([*package.notes, *by_content.notes]))
    layers = layers_of(package.layers, package.drills, time)
    if layers is None:
        return ReadLands(package, placed, types, bodies)
    if package.other_places and package.manifest.panel is None:
        told = settle_places(layers, placed, package.other_places)
        placed = told.placements
        package = _settled(package, told.settled, told.decisions)
    lay_onto(layers, placed, one_circuit=package.manifest.panel is not None)
    decisions = [*package.decisions, *by_content.decisions, *layers.decisions]
    found = None
    if layers.registered:
        found = lands_of_board(layers, placed, bodies, [name.footprint for name in types])
        rows = lands_of_types(found, placed)
        named = with_lands(types, bodies, rows, placed, found.file_of)
        if named is not None:
            stated = package.manifest
            types, bodies = named, bodies_of(named, size_codes=stated.size_codes, library=library, prefer=stated.prefer)
        bodies, more = settled_by_lands(bodies, rows, placed, found.file_of)
        decisions += more
        layers.notes += _vias(found, placed)
        found = replace(found, tooling=tooling_holes(layers, placed, package.outline))
        if marks:
            found = replace(found, marks=_marks(layers, package, placed))
        layers.notes += _told_of(found)
    layers.read_now()
    package = replace(
        package,
        decisions=as_given(decisions),
        notes=as_given([*package.notes, *layers.notes]),
        inputs=[*package.inputs, *_read_files(layers, package.inputs)],
    )
    return ReadLands(package, placed, types, bodies, found)


def _told_of(lands: BoardLands) -> Iterator[Note]:
    """Yield what the layers show of fiducials, of holes that may serve to hold the board, and of vias in lands."""
    for side in lands.layers.registered:
        own = [mark for mark in lands.marks if mark.side == side and mark.certain]
        if own:
            sizes = sorted({mark.diameter_mm for mark in own})
            listed = sum(mark.listed for mark in own)
            said = say(
                "lands.fiducials", side=side, count=len(own), sizes=[f"{size:g}" for size in sizes], listed=listed
            )
            yield Note(said, Place(own[0].file))
    if holes := [hole for hole in lands.tooling if hole.certain]:
        at = [f"{hole.diameter_mm:g} mm at {hole.x_mm:g}, {hole.y_mm:g}" for hole in holes]
        yield Note(say("lands.tooling holes", count=len(holes), holes=at))


def _vias(lands: BoardLands, placed: Placements) -> Iterator[Note]:
    """Yield a note on the parts in whose pasted lands vias lie."""
    refs = [placed.ref[row] for row, own in sorted(lands.of.items()) if own.vias]
    if refs:
        yield Note(say("lands.vias in lands", count=len(refs), refs=refs))


def _marks(layers: LayerSet, package: Package, placed: Placements) -> tuple[Mark, ...]:
    """Return the fiducials of the layers; of a panel that board.toml steps those of the first circuit's list alone."""
    if package.manifest.panel is None:
        stated = [(mark.x, mark.y, mark.side) for mark in package.manifest.fiducials]
        contour = None if package.outline is None else package.outline.polygon
        return marks_of_layers(layers, placed, stated, contour)
    return tuple(mark for mark in marks_of_layers(layers, placed) if mark.listed)


def _read_files(layers: LayerSet, known: Sequence[InputFile]) -> list[InputFile]:
    """Return the layers and drills that were read, with the hash of each; those that are listed already left out."""
    import hashlib

    files = {as_given(str(file)): file for file in layers.files_read()}
    listed = {file.path for file in known}
    return [
        InputFile(path, "fabrication", hashlib.sha256(file.read_bytes()).hexdigest())
        for path, file in files.items()
        if path not in listed
    ]


def _settled(package: Package, settled: Sequence[OtherPlaces], decisions: Sequence[Decision]) -> Package:
    """Return the package without the questions which of two places is right, for those that lands have answered."""
    files = {other.file for other in settled if not other.titles}
    columns = {other.file for other in settled if other.titles}

    def is_asked(asked: Discrepancy) -> bool:
        said = asked.said
        about = isinstance(said, Said) and said.key == "compare.lists differ" and said.values["what"] == "position"
        return about and asked.place is not None and asked.place.file in files

    def is_noted(note: Note) -> bool:
        said = note.said
        about = isinstance(said, Said) and said.key == "placements.centre taken"
        return about and note.place is not None and note.place.file in columns

    def is_open(decision: Decision) -> bool:
        return bool(files) and decision.open and decision.topic is Topic.PLACEMENTS

    return replace(
        package,
        decisions=[*(d for d in package.decisions if not is_open(d)), *decisions],
        notes=[note for note in package.notes if not is_noted(note)],
        discrepancies=[
            d for d in package.discrepancies if not is_asked(d) and not (d.about is not None and is_open(d.about))
        ],
    )
