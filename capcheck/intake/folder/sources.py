"""Which files make up a board: named on the command line, in board.toml, or found by content."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.files import expect_file, refuse_outside
from capcheck.intake.folder.found import Found
from capcheck.intake.folder.not_read import unreadable_beside
from capcheck.intake.opened import OpenedFiles, lists_itself
from capcheck.model import InputFile, LayerFile, Manifest, Note, PlacementSource, Topic, load_manifest, say
from capcheck.values import InputError, Place, Problems, line_of, read_text, refuse_special

if TYPE_CHECKING:
    from capcheck.intake.exchange import Form

_PLACED_BY: Final = {"IDF": "find.placed by origins", "NETLIST": "find.placed by lands", "PADS": "find.placed by lands"}
"""What is said of the places that files of these forms give, which are not those of bodies."""


class Sources(Struct, frozen=True):
    """The files of a board, with the board.toml that names them and what was found on the way."""

    placements: list[PlacementSource]
    bom: str | None
    outline: str | None
    manifest: Manifest
    manifest_file: str | None
    found: Found
    name: str
    opened: OpenedFiles
    further_boms: tuple[str, ...] = ()
    """More files that look like a bill of materials, where none is named."""
    drawings: tuple[Path, ...] = ()
    """The drawings found by content that may be the outline, best first; none where the user names it."""

    fabrication: tuple[tuple[Path, Form], ...] = ()
    """The files of fabrication that state something of the parts: those that board.toml names, else those found."""

    layers: tuple[LayerFile, ...] = ()
    """The Gerber layers found, those that board.toml names with what it says that they show."""
    drills: tuple[Path, ...] = ()
    """The files that list holes in the frame of the layers."""

    @property
    def files(self) -> list[str]:
        """The customer's files: placements, bill of materials, outline."""
        named = [*(source.file for source in self.placements), self.bom, *self.further_boms, self.outline]
        return [file for file in named if file is not None]


def choose_sources(
    path: Path | None,
    placements: Sequence[Path],
    bom: Path | None,
    outline: Path | None,
    shops: Path | None = None,
) -> Sources:
    """Return the files to read; *shops* is a board.toml of the shop's own, which is read instead of the folder's.

    Raises :class:`InputError` where none is given or found.
    """
    manifest, folder, manifest_file, opened = Manifest.model_construct(), None, None, OpenedFiles()
    one_list = None
    if path is not None:
        if not path.exists():
            raise InputError.at(str(path), "does not exist", remedy="give a folder or the board.toml in it")
        folder = path if path.is_dir() else path.parent
        toml = folder / "board.toml" if path.is_dir() else path
        if not path.is_dir() and path.suffix.lower() != ".toml":
            one_list = path
        if shops is not None:
            manifest, manifest_file = load_manifest(shops), str(shops)
            _refuse_outside(manifest, folder, shops)
        elif one_list is None and os.path.lexists(toml):
            if path.is_dir():
                refuse_outside(folder, toml.name, Place(str(toml)))
            manifest, manifest_file = load_manifest(toml), str(toml)
            _refuse_outside(manifest, folder, toml)
    named = [s.model_copy(update={"file": str(folder / s.file)}) for s in manifest.placements] if folder else []
    found = Found()
    if folder is not None and not placements:
        found = _found(folder, manifest, opened, one_list)
    chosen = (
        [PlacementSource(file=str(p)) for p in placements]
        or named
        or [PlacementSource(file=str(p)) for p in found.placements]
    )
    if not chosen:
        raise InputError.at(
            str(path or "command line"),
            "no placement file is given",
            "nothing can be checked without one",
            "give a folder, or --placements FILE",
        )
    forms = dict.fromkeys(_lists_itself(source.file) for source in chosen)  # in their order: reports do not vary
    if None not in forms:
        place = Place(chosen[0].file)
        said = ["find.lists itself", *(_PLACED_BY[form.name] for form in forms if form and form.name in _PLACED_BY)]
        found = replace(found, notes=(*found.notes, *(Note(say(key), place) for key in said)))
        if manifest.bottom_view is None:
            manifest = manifest.model_copy(update={"bottom_view": "through the board"})
    if bom or (manifest.bom is not None):
        found = replace(found, decisions=tuple(d for d in found.decisions if d.topic is not Topic.BOM))
    name = folder.resolve().name if folder and not one_list else (one_list or Path(chosen[0].file)).stem
    stated_bom = str(folder / manifest.bom) if folder and manifest.bom else None
    stated_outline = str(folder / manifest.outline.file) if folder and manifest.outline else None
    chosen_bom = str(bom) if bom else stated_bom or (str(found.bom) if found.bom else None)
    chosen_outline = str(outline) if outline else stated_outline or (str(found.outlines[0]) if found.outlines else None)
    _expect(
        [*(source.file for source in chosen), *([chosen_bom] if chosen_bom else [])], chosen_outline, manifest, opened
    )
    _refuse_one_file_for_both(chosen, chosen_bom, opened)
    return Sources(
        placements=chosen,
        bom=chosen_bom,
        outline=chosen_outline,
        manifest=manifest,
        manifest_file=manifest_file,
        found=found,
        name=name,
        opened=opened,
        further_boms=() if bom or stated_bom else tuple(map(str, found.further_boms)),
        drawings=() if outline or stated_outline else found.outlines,
        fabrication=_fabrication(manifest, folder, found),
        layers=_layers(manifest, folder, found),
        drills=(*found.drills, *found.drills_of_layers),
    )


def _lists_itself(file: str) -> Form | None:
    """Return the form of a file that places parts by a standard, else None.

    Raises :class:`InputError` for one that is a device or a pipe.
    """
    refuse_special(Path(file))
    return lists_itself(file)


def _fabrication(manifest: Manifest, folder: Path | None, found: Found) -> tuple[tuple[Path, Form], ...]:
    """Return the files that board.toml names, or those found. Raises :class:`InputError` for one of no form known."""
    if folder is None or isinstance(manifest.fabrication, bool):
        return found.fabrication if manifest.fabrication else ()
    from capcheck.intake.exchange import form_of
    from capcheck.intake.outline import HEAD_BYTES

    named = []
    for file in (folder / name for name in manifest.fabrication):
        try:
            with file.open("rb") as stream:
                form = form_of(stream.read(HEAD_BYTES))
        except OSError as error:
            raise InputError.at(str(file), f"cannot be read: {error.strerror}", remedy="check its name") from None
        if form is None:
            raise InputError.at(
                str(file),
                "states nothing of the parts",
                "board.toml names it, and it is neither a netlist nor copper with pins, IDF or IPC-2581",
                "name another",
            )
        named.append((file, form))
    return tuple(named)


def _layers(manifest: Manifest, folder: Path | None, found: Found) -> tuple[LayerFile, ...]:
    """Return the layers found, as board.toml names them. Raises :class:`InputError` for a file that is not there."""
    if folder is None or manifest.layers is False:
        return ()
    layers = {layer.file: layer for layer in found.layers}
    if manifest.layers is not True:
        from capcheck.intake.layers import named_layer

        for name, shows in manifest.layers.items():
            file = folder / name
            if not file.is_file():
                raise InputError.at(str(file), "is not there", "board.toml names it as a layer", "check its name")
            layers[file] = named_layer(file, shows)
    return tuple(layers.values())


def _expect(tables: Sequence[str], outline: str | None, manifest: Manifest, opened: OpenedFiles) -> None:
    """Have the chosen files read ahead; raises :class:`InputError` for one that is a device or a pipe."""
    for file in (*tables, *([outline] if outline else [])):
        refuse_special(Path(file))
    for file in tables:
        if not opened.holds(file):
            expect_file(Path(file))
    if outline is not None:
        from capcheck.intake.outline import expect_outline

        expect_outline(Path(outline), manifest.outline.unit if manifest.outline else None)


def _found(folder: Path, manifest: Manifest, opened: OpenedFiles, one_list: Path | None) -> Found:
    """Return what a folder holds, or that of its boards of which *one_list* is the first list.

    Where board.toml names the placements it is what the texts of the folder say alone.
    """
    if manifest.placements:
        from capcheck.intake.said_beside import texts_beside

        others = [manifest.bom, manifest.outline.file if manifest.outline else None]
        named = [*(source.file for source in manifest.placements), *filter(None, others)]
        files = [folder / name for name in named]
        opened.read_beside(_fabrication(manifest, folder, Found()))
        return Found(beside=texts_beside(folder, files), discrepancies=tuple(unreadable_beside(folder, files)))
    from capcheck.intake.folder.find_below import (  # all forms of outlines, which named files do not need
        find_board_of_list,
        find_package,
    )

    if one_list is None:
        return find_package(folder, opened)
    found = find_board_of_list(one_list, opened) if one_list.is_file() else None
    if found is None:
        raise InputError.at(
            str(one_list),
            "is neither a folder nor a board.toml",
            "nor the placements of one of several boards in a folder",
            f"for a placement file write --placements {one_list}",
        )
    return found


def _refuse_outside(manifest: Manifest, folder: Path, toml: Path) -> None:
    """Raise :class:`InputError` where board.toml names what is no regular file below its own folder."""
    named = [("placements", source.file) for source in manifest.placements]
    named += [("bom", manifest.bom)] if manifest.bom is not None else []
    named += [("outline", manifest.outline.file)] if manifest.outline is not None else []
    named += [("fabrication", name) for name in manifest.fabrication] if isinstance(manifest.fabrication, list) else []
    named += [("layers", name) for name in manifest.layers] if isinstance(manifest.layers, dict) else []
    problems = Problems()
    for key, name in named:
        try:
            refuse_outside(folder, name, Place(str(toml), line_of(read_text(toml, "board.toml"), (key,)), key))
        except InputError as error:
            problems.found += error.problems
    problems.raise_if_any()


def _refuse_one_file_for_both(placements: Sequence[PlacementSource], bom: str | None, opened: OpenedFiles) -> None:
    """Raise :class:`InputError` where a table is to be placements and BOM at once; a workbook may hold both."""
    if bom is None or not Path(bom).is_file() or Path(bom).read_bytes()[:2] in {b"PK", b"\xd0\xcf"}:
        return
    same = any(Path(source.file).is_file() and Path(source.file).samefile(bom) for source in placements)
    if same and len(opened.tables(bom)) == 1:
        raise InputError.at(
            bom,
            "is named as placements and as bill of materials",
            "compared with itself, it would agree in everything",
            "name the bill of materials, or leave it out",
        )


def input_files(sources: Sources) -> list[InputFile]:
    """Return the files that were read, with the hash of each."""
    named = [
        *((s.file, "placements") for s in sources.placements),
        *((bom, "bom") for bom in (sources.bom, *sources.further_boms)),
        (sources.outline, "outline"),
        *((str(file), "drills") for file in sources.found.drills),
        *((str(file), "fabrication") for file, _ in sources.fabrication),
    ]
    if sources.manifest_file:
        named.append((sources.manifest_file, "board"))
    return [InputFile(f, role, hashlib.sha256(Path(f).read_bytes()).hexdigest()) for f, role in named if f]
