"""The files of a folder by their beginnings: drawings, drills, files that state lands, and what may be tables."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct, field

from capcheck.intake.files import expect_file
from capcheck.intake.outline import HEAD_BYTES, Likeness, OutlineForm, likeliest_form, start_reading
from capcheck.lexicon import fold, vocabulary
from capcheck.model import LayerFile
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.intake.exchange import Form

NO_INPUT: Final = frozenset(
    {
        ".toml",
        ".md",
        ".pdf",
        ".png",
        ".jpg",
        ".jpeg",
        ".svg",
        ".zip",
        ".gz",
        ".tar",
        ".tgz",
        ".tbz2",
        ".txz",
        ".py",
        ".json",
        ".step",
        ".stp",
        ".doc",
        ".docx",
    }
)
"""Ends of names that are not worth opening; everything else is judged by content."""
_OUTLINE_NAME: Final = pattern(lambda: rf"{vocabulary().layers.outline}|border|dimension|\.(?:gko|gm1|oln)$")


class Drawing(Struct, frozen=True):
    """A file that may be the outline; its content or its name may say that it is."""

    file: Path
    form: OutlineForm
    says_so: bool
    named_so: bool


def head_of(file: Path) -> bytes:
    """Return the beginning of a file; nothing of one that cannot be read, which is said when it is opened."""
    try:
        with file.open("rb") as stream:
            return stream.read(HEAD_BYTES)
    except OSError:
        return b""


def _drawing(file: Path) -> Drawing | None:
    head = head_of(file)
    form, likeness = likeliest_form(head)
    if not head or likeness < Likeness.OUTLINE:
        return None
    return Drawing(file, form, likeness == Likeness.SAYS_OUTLINE, bool(_OUTLINE_NAME.search(fold(file.name))))


class SortedOut(Struct):
    """The files of a folder by what their beginnings say: those of which nothing is known yet may be tables."""

    drawings: list[Drawing] = field(default_factory=list)
    drills: list[Path] = field(default_factory=list)
    fabrication: list[tuple[Path, Form]] = field(default_factory=list)
    layers: list[LayerFile] = field(default_factory=list)
    others: list[Path] = field(default_factory=list)


def sorted_out(files: Sequence[Path]) -> SortedOut:
    """Return files by their kinds, and have them read ahead."""
    from capcheck.intake.drills import is_drill_file
    from capcheck.intake.exchange import Form, form_of
    from capcheck.intake.layers import layer_of

    found = SortedOut()
    for file in files:
        if file.suffix.lower() in NO_INPUT:
            continue
        head = head_of(file)
        layer = layer_of(file, head)
        if layer is not None:
            found.layers.append(layer)
        if is_drill_file(head):
            found.drills.append(file)
        elif (known := form_of(head)) is not None:
            found.fabrication.append((file, known))
            if known in {Form.IDF, Form.IPC2581} and (drawing := _drawing(file)) is not None:
                found.drawings.append(drawing)
        elif (drawing := _drawing(file)) is not None:
            found.drawings.append(drawing)
        elif layer is None or layer.kind is None:
            found.others.append(file)
            expect_file(file)
    for form in {drawing.form.name: drawing.form for drawing in found.drawings}.values():
        start_reading(form)
    return found
