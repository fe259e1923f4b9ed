"""Parts that the customer provides: by a text of their line of the BOM, or as board.toml states."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from capcheck.intake.tables import expand_references
from capcheck.model import BomLine, Manifest, Note, say
from capcheck.values import Place

_STATED: Final = "board.toml"


def provided_parts(
    lines: Sequence[BomLine], stated: Manifest, placed: Sequence[str]
) -> tuple[dict[str, str], list[Note]]:
    """Return the references of parts that the customer provides, each with the text that says so, and what to note.

    What board.toml states goes before the texts of the lines.
    """
    told = {ref: line.provided for line in lines if line.provided for ref in line.refs}
    if stated.provided or stated.bought:
        known = {*placed, *(ref for line in lines for ref in line.refs)}
        for ref in expand_references(", ".join(stated.bought), known)[0]:
            told.pop(ref, None)
        told |= dict.fromkeys(expand_references(", ".join(stated.provided), known)[0], _STATED)
    return told, _notes(lines, told) if told else []


def _notes(lines: Sequence[BomLine], provided: Mapping[str, str]) -> list[Note]:
    """Return a note for each text by which lines leave their parts to the customer: nothing is bought for them."""
    found: dict[str, list[str]] = {}
    places: dict[str, Place] = {}
    for line in lines:
        refs = [ref for ref in line.refs if line.fitted and line.provided and provided.get(ref) == line.provided]
        if refs:
            found.setdefault(line.provided, []).extend(refs)
            places.setdefault(line.provided, line.place)
    return [Note(say("bom.provided", text=text, refs=refs), places[text]) for text, refs in found.items()]
