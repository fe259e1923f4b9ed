"""Whether what lies below a folder is one board or several, told by its placements and what lies beside them."""

from __future__ import annotations

import os
from collections.abc import Sequence
from itertools import combinations, pairwise
from pathlib import Path
from typing import Final

from capcheck.intake.archives import shown
from capcheck.intake.compare import elsewhere, places_of
from capcheck.intake.folder.find import find_inputs, looks_like
from capcheck.intake.folder.found import Found
from capcheck.intake.folder.no_board import SeveralBoardsError
from capcheck.intake.opened import OpenedFiles
from capcheck.intake.tables import sides_by_folders, sides_by_pair
from capcheck.values import InputError

_BOARD_FILE: Final = "board.toml"
_OF_BOTH: Final = 4
"""Fiducials that the lists of both sides may have. Common practice, no source."""
_VARIANTS: Final = 3
"""Folders that place the same parts, each otherwise, that are no corrections of one another."""


def boards_apart(files: Sequence[Path], opened: OpenedFiles) -> list[str]:
    """Return the names of the folders that are a board each; none where the files make up one board.

    They are boards where two of them place the same references in ways that have nothing to do with each other, or
    each parts that the other does not, or otherwise and each beside its own list of parts, or where three or more place
    them, each otherwise: those are variants. A copy, a list of the other side and a lone list of a few moved parts are
    of one board.
    """
    placed = [file for file in files if looks_like(opened.known.get(str(file), [])) == "placements"]
    if len({file.parent for file in placed}) < 2:
        return []
    root = Path(os.path.commonpath([file.parent for file in placed]))
    if any(file.parent == root for file in placed):
        return []
    groups: dict[str, list[Path]] = {}
    for file in files:
        if file.is_relative_to(root):
            groups.setdefault(file.relative_to(root).parts[0], []).append(file)
    lists = {name: [file for file in placed if file in own] for name, own in groups.items()}
    boards = [name for name, own in lists.items() if own]
    own_lists = {name: _lists_of_a_board(groups[name], opened) for name in boards}
    if any(_are_apart(lists[a], lists[b], opened, own_lists[a], own_lists[b]) for a, b in pairwise(boards)):
        return boards
    if len(boards) >= _VARIANTS and all(
        _place_otherwise(lists[a], lists[b], opened) for a, b in combinations(boards, 2)
    ):
        return boards
    return []


def stated_below(found: Found, files: Sequence[Path]) -> list[Path]:
    """Return the folders of the placements whose own board file says what they are: it counts for that folder alone."""
    folders = {file.parent for file in files if file.name == _BOARD_FILE}
    return sorted(folders & {above for file in found.placements for above in file.parents})


def is_of_another_board(files: Sequence[Path], folder: Path, found: Found, opened: OpenedFiles) -> bool:
    """Whether the *files* of an archive place parts that have nothing to do with those *found* beside it."""
    try:
        other = find_inputs(folder, opened, files)
    except SeveralBoardsError:
        return True
    except InputError:  # without placements it is no board; what it is else is told where it is passed over
        return False
    here, there = (
        places_of([table for file in one.placements for table in opened.tables(file)]) for one in (found, other)
    )
    shared = {ref: there[ref] for ref in there if ref in here}
    if 2 * len(shared) < min(len(here), len(there)):
        return not sides_by_pair([shown(file) for file in (*found.placements, *other.placements)])
    return elsewhere(here, shared) is None


def _place_otherwise(one: Sequence[Path], other: Sequence[Path], opened: OpenedFiles) -> bool:
    """Whether two folders place the same parts, and some of them otherwise."""
    here, there = ({k: v for f in own for k, v in places_of(opened.tables(f)).items()} for own in (one, other))
    shared = here.keys() & there.keys()
    return 2 * len(shared) > max(len(here), len(there)) and any(here[ref] != there[ref] for ref in shared)


def _lists_of_a_board(files: Sequence[Path], opened: OpenedFiles) -> dict[str, bytes]:
    """Return what beside placements says that they are a whole board's, by kind of file."""
    return {
        file.suffix.lower(): file.read_bytes()
        for file in files
        if file.name == _BOARD_FILE or looks_like(opened.known.get(str(file), [])) == "bom"
    }


def _are_apart(
    one: Sequence[Path], other: Sequence[Path], opened: OpenedFiles, mine: dict[str, bytes], theirs: dict[str, bytes]
) -> bool:
    """Whether placements in two folders, each with what lies beside it, are of two boards."""
    if ".toml" in mine and ".toml" in theirs:
        return True
    here, there = ({k: v for f in own for k, v in places_of(opened.tables(f)).items()} for own in (one, other))
    shared = {ref: there[ref] for ref in there if ref in here}
    complete = bool(mine and theirs)
    if len(shared) <= _OF_BOTH or len(shared) < min(len(here), len(there)) / 2:
        if sides_by_folders([str(file) for file in (*one, *other)]):
            return False  # each side may go with its own list of parts
        if len(shared) < min(len(here), len(there)) / 2:
            return complete and not sides_by_pair([str(file) for file in (*one, *other)])
    if len(shared) < len(here) and len(shared) < len(there):
        return True  # each has parts that would be lost with the other's list
    moved = elsewhere(here, shared)
    # Of two packages with the same places the lists tell: of one kind and not the same, they are of two variants.
    differ = any(mine[kind] != theirs[kind] for kind in mine.keys() & theirs.keys())
    return moved is None or (complete and (bool(moved) or differ))
