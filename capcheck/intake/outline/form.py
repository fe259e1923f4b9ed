"""What a form of outline file is: how its files are recognised by content, and how one becomes a drawing."""

from __future__ import annotations

import enum
from collections.abc import Callable
from pathlib import Path

from msgspec import Struct

from capcheck.intake.outline.drawing import Drawing


class Likeness(enum.IntEnum):
    """How much the beginning of a file speaks for one form; of several forms the likeliest reads it."""

    NONE = 0
    DAMAGED = 1
    """Nothing speaks for it, but its reader mends damaged files: tried where no other form is likelier."""
    NO_OUTLINE = 2
    """Of this form, but not a contour by what it says: read only where the user names it."""
    OUTLINE = 3
    """May be the contour."""
    SAYS_OUTLINE = 4
    """Says itself that it is the contour."""


class OutlineForm(Struct, frozen=True):
    """A form of outline file; each module of the folder ``forms`` holds one, as ``FORM``.

    *likeness* judges the first 64 KB of a file. *read* returns the drawing of a file, whose unit the user may state
    (a key of :data:`~capcheck.intake.outline.drawing.MM_PER`), and raises :class:`~capcheck.values.InputError`.
    """

    name: str
    likeness: Callable[[bytes], Likeness]
    read: Callable[[Path, str | None], Drawing]
    libraries: tuple[str, ...] = ()
    """Foreign libraries that read it, which the reading process imports ahead."""
    file_a_layer: bool = False
    """Whether each layer of a board is a file of its own, so that most files of this form are no outline."""
