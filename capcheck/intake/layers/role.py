"""Which layer of a board a Gerber file is: its own attribute says so, else its name, else nothing does yet.

Source of the attribute: the Gerber Layer Format Specification, revision 2021.02, ``.FileFunction`` (from memory).
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from capcheck.lexicon import layer_by_name
from capcheck.model import LayerFile, LayerKind
from capcheck.values import pattern

_GERBER: Final = pattern(rb"%\s*FS[LTD]?[AI]?X\d\dY\d\d|%\s*MO(?:MM|IN)\s*\*|%ADD\d+[A-Z]")
_FUNCTION: Final = pattern(rb"TF\.FileFunction,\s*([A-Za-z]+)(?:,\s*(L\d+))?(?:,\s*(Top|Bot|Inr))?")


_OF_FUNCTION: Final = {
    b"copper": LayerKind.COPPER,
    b"soldermask": LayerKind.MASK,
    b"paste": LayerKind.PASTE,
    b"legend": LayerKind.LEGEND,
}
_SAME_FRAME: Final = tuple(
    pattern(b"TF\\." + name)
    for name in (rb"ProjectId,([^*]+)\*", rb"CreationDate,([^T*]+)", rb"SameCoordinates,([^*]+)\*")
)
"""Files of a set whose .SameCoordinates are the same lie in one frame (the specification, from memory)."""
_SIDES: Final = {b"Top": "top", b"Bot": "bottom"}


def is_gerber(head: bytes) -> bool:
    """Whether a file begins as a Gerber layer does, of whatever kind."""
    return _GERBER.search(head) is not None


def layer_of(file: Path, head: bytes) -> LayerFile | None:
    """Return what layer a file is by its beginning and its name; None for what is no Gerber layer of a board's face."""
    if not is_gerber(head):
        return None
    if function := _FUNCTION.search(head):
        kind, side = _OF_FUNCTION.get(function[1].lower()), _SIDES.get(function[3] or b"", "")
        return None if kind is None or not side else LayerFile(file, kind, side, stated=True, frame=_frame(head))
    sort, side = layer_by_name(file.name)
    if sort == "other" or (sort == LayerKind.LEGEND and not side):
        return None
    return LayerFile(file, LayerKind(sort) if sort else None, side)


def _frame(head: bytes) -> str:
    """Return what a file states of its frame, blank where it leaves out any of it."""
    told = [found[1].decode("latin-1") for name in _SAME_FRAME if (found := name.search(head))]
    return "; ".join(told) if len(told) == len(_SAME_FRAME) else ""


def named_layer(file: Path, shows: str) -> LayerFile:
    """Return a layer as board.toml names it, such as ``mask top``; ``none`` for one that is not to be used."""
    kind, _, side = shows.partition(" ")
    return LayerFile(file, None if kind == "none" else LayerKind(kind), side, stated=True, by_entry=True)
