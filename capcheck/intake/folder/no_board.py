"""What is raised where files are not those of one board: none of them places parts, or several boards lie there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final, Self

from msgspec import Struct

from capcheck.values import InputError, few

_FEW: Final = 5
_REMEDY: Final = "name the one that is meant; capcheck check takes all of them"


class NoPlacementsError(InputError):
    """No file of a folder looks like placement data; *holds_parts* says that one may list parts all the same.

    *holds_netlist* says that a netlist names the parts of a board by their lands.
    """

    holds_parts = False
    holds_netlist = False


class BoardFiles(Struct, frozen=True):
    """What of a folder belongs to one of the boards whose lists lie there side by side."""

    files: tuple[Path, ...]
    """Its lists, and what goes with them."""
    shared: tuple[Path, ...] = ()
    """Those of them of which nothing says whose they are."""
    left: tuple[Path, ...] = ()
    """Files of the folder that are no board's for certain, and are not read."""
    others: tuple[Path, ...] = ()
    """The lists of the other boards."""


class SeveralBoardsError(NoPlacementsError):
    """What lies in a folder, below it, or in its archives, is more than one board."""

    boards: Mapping[Path, BoardFiles] = {}
    """The boards whose lists lie in the folder itself, by the first list of each."""

    @classmethod
    def below(
        cls, folder: Path, names: Sequence[str], beside: NoPlacementsError, what: str = "it holds more than one board"
    ) -> Self:
        """Return the error of a folder, which *names* where its boards lie; *beside* is that of its own files."""
        error = cls.at(str(folder), what, few(names, _FEW), _REMEDY)
        error.holds_parts = beside.holds_parts
        return error

    @classmethod
    def side_by_side(cls, folder: Path, boards: Mapping[Path, BoardFiles]) -> Self:
        """Return the error of a folder in which the lists of several boards lie."""
        what = "it holds the placements of more than one board"
        error = cls.at(str(folder), what, few([file.name for file in boards], _FEW), _REMEDY)
        error.boards = boards
        return error
