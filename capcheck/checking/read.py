"""A customer's package to a board: files read, bodies looked up, mounted and turned as they lie, and what is noted."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from fnmatch import fnmatchcase
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from capcheck import geometry
from capcheck.checking.board_size import board_size
from capcheck.checking.told_size import as_told_too, asked_once, bare_boards_bought
from capcheck.intake import Package, expand_each, read_package, unpacked_files_kept
from capcheck.model import (
    Board,
    Body,
    Discrepancy,
    Mounting,
    Note,
    PartName,
    Placements,
    Said,
    Severity,
    Topic,
    say,
)
from capcheck.packages import bodies_of, names_body
from capcheck.values import Phase, Place, at_phase

if TYPE_CHECKING:
    from capcheck.packages import Library
    from capcheck.shop import Keeper


def read_board(
    path: str | Path | None = None,
    *,
    placements: Sequence[str | Path] = (),
    bom: str | Path | None = None,
    outline: str | Path | None = None,
    libraries: Sequence[str | Path] | Libraries = (),
    outline_alone: bool = False,
    layers: bool = True,
    marks: bool = True,
    stated: Path | None = None,
) -> Board:
    """Return the board that a folder, a board.toml or single files describe.

    *path* is a folder or the board.toml in it; *placements*, *bom* and *outline* name files instead, or override it.
    *libraries* are package libraries of the shop, the first that knows a part wins. With
    *outline_alone* a board without placements is read too: there is something to see, though nothing to check. Without
    *layers* its Gerber layers of mask, paste and copper stay unread, without *marks* the copper that only fiducials
    are found by. *stated* is a board.toml of the shop's own, read instead of the folder's. Raises
    :class:`~capcheck.values.InputError` with every fault found.
    """
    at_phase(Phase.READING)
    with unpacked_files_kept():
        package = read_package(
            None if path is None else Path(path),
            placements=[Path(p) for p in placements],
            bom=None if bom is None else Path(bom),
            outline=None if outline is None else Path(outline),
            outline_alone=outline_alone,
            names_body=names_body,
            layers=layers,
            stated=stated,
        )
        return _understood(package, libraries, marks=marks)


def _understood(package: Package, libraries: Sequence[str | Path] | Libraries, *, marks: bool) -> Board:
    """Return the board of files that were read: with bodies, as their lands and neighbours let them lie."""
    kept = libraries if isinstance(libraries, Libraries) else Libraries(libraries)
    library = kept.of_board(package.name, package.types, prefer=_keeper(package.manifest.prefer))
    package = _named_by_reference(package, library)
    stated = package.manifest
    package = _numbered_as_stated(package)
    placed, types = _mounted_as_stated(package)
    at_phase(Phase.BODIES, 0, len(types))
    bodies: Sequence[Body] = bodies_of(types, size_codes=stated.size_codes, library=library, prefer=stated.prefer)
    decisions = list(package.decisions)
    found_lands = None
    if package.layers and package.unit_settled:
        from capcheck.checking.read_lands import read_lands

        read = read_lands(package, placed, types, bodies, library, marks=marks)
        package, placed, types, bodies = read.package, read.placements, read.types, read.bodies
        decisions, found_lands = list(package.decisions), read.lands
    if package.unit_settled:
        one_circuit = None if package.panel is None else package.panel.circuit <= 1
        footprints = [name.footprint for name in types]
        near = geometry.near_parts(placed, bodies, one_circuit)
        bodies, found = geometry.orient_by_fit(placed, bodies, footprints, near)
        bodies = geometry.told_by_room(placed, bodies, near)
        decisions += found
        decisions = geometry.doubt_frame(
            decisions, placed, bodies, types, outline=package.outline, placed=package.placed
        )
        one_view = stated.bottom_view is None and stated.panel is None and package.panel is None
        if one_view and package.outline is not None:
            decisions = geometry.doubt_mirror(decisions, placed, bodies, outline=package.outline)
        if package.outline is not None:
            package = _without_drawn_parts(package, placed, bodies)
    size, size_notes = board_size(package, bodies)
    in_panel = stated.panel is not None or package.panel is not None
    told = [*bare_boards_bought(package.discrepancies), *package.told]
    size, told_otherwise = as_told_too(size, told, in_panel=in_panel, is_drawn=package.outline is not None)
    board = Board(
        name=package.name,
        placements=placed,
        types=types,
        bodies=bodies,
        bom=package.bom,
        outline=package.outline,
        size=size,
        manifest=package.manifest,
        inputs=package.inputs,
        notes=package.notes,
        decisions=decisions,
        set_aside=package.set_aside,
        discrepancies=[*asked_once(package.discrepancies, told_otherwise), *told_otherwise],
        tables=package.tables,
        unit_settled=package.unit_settled,
        sides_settled=package.sides_settled,
        lands=found_lands,
        provided=package.provided,
    )
    notes = [*size_notes, *_without_effect(board), *board.notes, *_first_side(board)]
    return replace(board, notes=notes, discrepancies=[*_told_of_bare_pads(board), *kept.stated_otherwise(board)])


def _told_of_bare_pads(board: Board) -> Iterator[Discrepancy]:
    """Yield what disagrees, bare pads apart from the parts that the BOM lacks: nothing is bought for them.

    They stay told of, since it is by their names alone that nothing is placed on them.
    """
    placed = board.placements
    bare = {ref for ref, of in zip(placed.ref, placed.part_type.tolist(), strict=True) if _is_bare(board, of)}
    for told in board.discrepancies:
        pads = tuple(ref for ref in told.refs if ref in bare) if told.topic is Topic.NOT_IN_BOM else ()
        if len(pads) < len(told.refs) or not pads:
            yield replace(told, refs=tuple(ref for ref in told.refs if ref not in pads))
        if pads:
            yield replace(told, refs=pads, said=say("compare.bare pads not in BOM"), severity=Severity.ADVICE)


def _is_bare(board: Board, index: int) -> bool:
    return index >= 0 and board.bodies[index].mounting == "none"


def _without_drawn_parts(package: Package, placed: Placements, bodies: Sequence[Body]) -> Package:
    """Return the package without the doubts about contours that are drawings of the parts themselves."""
    if package.outline is None or not package.outline.doubts:
        return package
    outline, refs = geometry.without_drawn_parts(package.outline, placed, bodies)
    if not refs:
        return package
    # With nothing left in doubt the question is answered; else it names what is left among the rest.
    asked = [
        d
        for d in package.discrepancies
        if outline.doubts or not (isinstance(d.said, Said) and d.said.key == "outline.may be openings")
    ]
    note = Note(say("outline.drawings of parts", refs=refs))
    return replace(package, outline=outline, discrepancies=asked, notes=[*package.notes, note])


def _without_effect(board: Board) -> list[Note]:
    """Return a note on entries of board.toml that name no reference of the data: a slip there would go unseen."""
    stated = board.manifest
    if not (stated.not_fitted or stated.fitted or stated.kinds or stated.mounting or stated.part_numbers):
        return []
    refs = {ref.partition("/")[0] for ref in board.placements.ref}
    refs |= {ref for line in board.bom or () for ref in line.refs}

    def naming_none(key: str, texts: Sequence[str]) -> list[str]:
        def entry(number: int) -> Place:
            return Place("board.toml", column=f"{key}[{number + 1}]")

        each = zip(texts, expand_each(texts, refs, entry), strict=True)
        return [text for text, (named, _) in each if not refs.intersection(named)]

    idle = {
        "not_fitted": naming_none("not_fitted", stated.not_fitted),
        "fitted": naming_none("fitted", stated.fitted),
        "kinds": [t for t in stated.kinds if not _names_any(t, refs)],
        "mounting": [t for t in stated.mounting if not _names_any(t, refs)],
        "part_numbers": [t for t in stated.part_numbers if not _names_any(t, refs)],
    }
    return [
        Note(say("checking.names nothing", key=key, names=names), Place("board.toml"))
        for key, names in idle.items()
        if names
    ]


def _names_any(name: str, refs: Collection[str]) -> bool:
    return name in refs or any(fnmatchcase(ref, name) for ref in refs)


def _first_side(board: Board) -> list[Note]:
    """Return a note on which side to solder first, for a board with surface-mount parts on both."""
    loads = geometry.side_loads(board.placements, board.bodies)
    if not all(side.parts for side in loads):
        return []
    first = geometry.propose_first(loads)
    return [Note(say("checking.solder first", side=first.side, reasons=first.reasons))]


class Libraries:
    """What the shop knows of parts: its package libraries, the first that knows a part wins, and then its store.

    Both are read when the first board asks; without a store nothing of it is imported. *prefer* says which of the two
    is believed where they differ; where nobody says it, both count.
    """

    def __init__(
        self, paths: Sequence[str | Path], store: str | None = None, customer: str = "", prefer: Keeper | None = None
    ) -> None:
        self._paths = paths
        self._prefer = prefer
        self._store = store
        self._customer = customer

    @cached_property
    def _whole(self) -> Library:
        from capcheck.packages import load_library

        return _together([load_library(path) for path in self._paths])

    def read(self) -> None:
        """Read the package libraries now, for processes that will share them. Raises :class:`InputError`."""
        if self._paths:
            _ = self._whole

    def of_board(self, name: str, types: Sequence[PartName], *, prefer: Keeper | None = None) -> Library | None:
        """Return them as one for a board of this name with parts of these *types*; None where there is none.

        References of other boards, and what the store keeps for other customers and boards, is left out. *prefer* is
        what the board itself says of the two.
        """
        listed = self._whole.of_board(name) if self._paths else None
        if self._store is None:
            return listed
        from capcheck.store import open_store

        with open_store(self._store, create=False, read_only=True) as store:
            kept = store.library(types, board=name, customer=self._customer)
        if listed is None:
            return kept
        first = {"library": listed, "store": kept}.get(prefer or self._prefer or "")
        return _together([_believed(one) if one is first else one for one in (listed, kept)])

    def stated_otherwise(self, board: Board) -> list[Discrepancy]:
        """Return what other boards that the store keeps state differently of this board's parts."""
        if self._store is None:
            return []
        from capcheck.checking.other_boards import stated_otherwise
        from capcheck.store import open_store

        with open_store(self._store, create=False, read_only=True) as store:
            return stated_otherwise(board, store, self._customer)


def _keeper(stated: str | None) -> Keeper | None:
    """Return which of list and store board.toml believes, where it says so."""
    return "store" if stated == "store" else "library" if stated == "library" else None


def _believed(library: Library) -> Library:
    """Return a library of which every entry goes before those of the other."""
    from capcheck.packages import build_library

    entries = [replace(one, candidate=replace(one.candidate, goes_first=True)) for one in library.entries]
    return build_library(library.path, entries)


def _together(libraries: Sequence[Library]) -> Library:
    from capcheck.packages import build_library

    if len(libraries) == 1:
        return libraries[0]
    entries = [entry for library in libraries for entry in library.entries]
    return build_library(", ".join(library.path for library in libraries), entries)


def _named_by_reference(package: Package, library: Library | None) -> Package:
    """Return the package with types of their own for the parts that the library names by their references."""
    if library is None or not library.references:
        return package
    types, part_type = list(package.types), package.placements.part_type.copy()
    split: dict[tuple[int, tuple[int, ...]], int] = {}
    for row, ref in enumerate(package.placements.ref):
        index, bare = int(part_type[row]), ref.partition("/")[0]
        found = library.by_reference(bare, types[index]) if index >= 0 else []
        if not found:
            continue
        key = index, tuple(map(id, found))
        if key not in split:
            split[key] = len(types)
            others = tuple(replace(other, reference=bare) for other in types[index].others)
            types.append(replace(types[index], reference=bare, others=others))
        part_type[row] = split[key]
    return replace(package, types=types, placements=replace(package.placements, part_type=part_type))


def _numbered_as_stated(package: Package) -> Package:
    """Return the package with the part numbers that board.toml states; what the files call the part is left out."""
    stated = package.manifest.part_numbers
    if not stated:
        return package
    types, part_type = list(package.types), package.placements.part_type.copy()
    split: dict[tuple[int, str], int] = {}
    for row, ref in enumerate(package.placements.ref):
        bare, index = ref.partition("/")[0], int(part_type[row])
        number = next((n for name, n in stated.items() if fnmatchcase(bare, name)), None)
        if number is None or index < 0:
            continue
        if (index, number) not in split:
            split[index, number] = len(types)
            types.append(replace(types[index], part_number=number, others=()))
        part_type[row] = split[index, number]
    placements = replace(package.placements, part_type=part_type)
    return replace(package, types=types, placements=placements, discrepancies=_numbers_open(package))


def _numbers_open(package: Package) -> list[Discrepancy]:
    """Return what disagrees, without the doubts about part numbers of parts whose number board.toml states."""
    stated, found = package.manifest.part_numbers, []
    for told in package.discrepancies:
        if told.topic not in {Topic.DAMAGED_PART_NUMBER, Topic.NO_PART_NUMBER}:
            found.append(told)
            continue
        refs = tuple(ref for ref in told.refs if not any(fnmatchcase(ref, name) for name in stated))
        if refs or not told.refs:
            found.append(replace(told, refs=refs))
    return found


def _mounted_as_stated(package: Package) -> tuple[Placements, Sequence[PartName]]:
    """Return placements and types with the mounting that board.toml states for some references.

    A type of which only some references are named is split.
    """
    placements, stated = package.placements, package.manifest.mounting
    if not stated:
        return placements, package.types
    types = list(package.types)
    part_type = placements.part_type.copy()
    split: dict[tuple[int, str], int] = {}
    for row, ref in enumerate(placements.ref):
        mounting = next((m for pattern, m in stated.items() if fnmatchcase(ref, pattern)), None)
        index = int(part_type[row])
        if mounting is None or index < 0:
            continue
        if (index, mounting) not in split:
            split[index, mounting] = len(types)
            types.append(replace(types[index], mounted=Mounting(mounting)))
        part_type[row] = split[index, mounting]
    return replace(placements, part_type=part_type), types


def parts_of_types(board: Board) -> dict[int, list[str]]:
    """Return the references of the parts of each type that is placed, by the type's number."""
    found: dict[int, list[str]] = {}
    for ref, index in zip(board.placements.ref, board.placements.part_type.tolist(), strict=True):
        if index >= 0:
            found.setdefault(index, []).append(ref.partition("/")[0])
    return found
