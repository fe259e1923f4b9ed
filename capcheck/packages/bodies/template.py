"""A library to fill in: a row for each part whose body is not settled, with what is missing of it."""

from __future__ import annotations

import csv
import io
from itertools import product
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.intake import expand_references
from capcheck.packages.bodies.disputes import OF_A_PACKAGE
from capcheck.packages.bodies.unknowns import unknown_fields
from capcheck.packages.library import LIBRARY_KEYS, MEASURES
from capcheck.packages.library_entries import Key, folded_number
from capcheck.values import LENGTH, MASS, NUMBER, harmless

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.model import Body, PartName

_FILL_IN: Final = "length", "width", "height", "pitch", "pins", "mass", "mounting", "lead style", "supply"
_BODY: Final = ("length", "width")


def library_template(
    types: Sequence[PartName], bodies: Sequence[Body], *, refs: Sequence[Sequence[str]] = (), board: str = ""
) -> str:
    """Return a library as CSV text with a row for each part whose body is not settled, ready to be filled in.

    That is a part of which something is not known, that a name leaves open, or that sources differ on. Sizes are in mm
    and mass in g. Parts of one key make one row: the part number, else the value with the footprint, else the *refs* of
    the type, which hold for the *board* of that name. What is missing stands in the last column for the reader and is
    not read back.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([*LIBRARY_KEYS, *map(titled, _FILL_IN), "used by", "what is missing"])
    seen: set[tuple[str, ...]] = set()
    for index, (name, body) in enumerate(zip(types, bodies, strict=True)):
        missing = [] if name.doubt else what_is_missing(body)
        listed = _cells_of(refs[index]) if refs and missing else [()]
        for known_as, cell in product((name, *name.others) if missing else (), listed):
            key = key_of(known_as, cell, board)
            if key is None or key.compared in seen:
                continue
            seen.add(key.compared)
            # Beside a part number the value is for the reader alone.
            keys = replace(key, value=key.value or known_as.value).cells
            cells = (*keys, *[""] * len(_FILL_IN), known_as.where, ", ".join(missing))
            writer.writerow(map(harmless, cells))
    return out.getvalue()


def _cells_of(refs: Sequence[str]) -> list[Sequence[str]]:
    """Return references in the groups that a cell each can list: one that looks like a list or a range stands alone."""
    plain = [ref for ref in dict.fromkeys(refs) if expand_references(ref)[0] == [ref]]
    if expand_references(" ".join(plain))[0] != plain:
        plain = []
    others = [ref for ref in dict.fromkeys(refs) if ref not in set(plain)]
    return [*([plain] if plain else []), *([ref] for ref in others)]


def titled(field: str) -> str:
    """Return the title of a library's column for a field of the body, with the unit of its cells."""
    units = {LENGTH: " [mm]", MASS: " [g]"}
    return field + units.get(MEASURES.get(field, NUMBER), "")


def key_of(name: PartName, refs: Sequence[str], board: str) -> Key | None:
    """Return the key of a part: its number, else its value with its footprint, else its references on this board.

    A name that itself holds a wildcard's sign is written as it is, and fits itself. None where there is no key.
    """
    if folded_number(name.part_number):
        return Key(part_number=name.part_number)
    if name.footprint:
        return Key(footprint=name.footprint, value=name.value)
    return Key(value=name.value, references=" ".join(dict.fromkeys(refs)), board=board) if refs else None


def what_is_missing(body: Body) -> list[str]:
    """Return the fields of a body that are not known, that sources differ on, or that a name leaves open."""
    missing = [field.replace("_", " ") for field in unknown_fields(body)]
    for field in body.disputed:
        own = () if field == "body" else (field.replace("_", " "),)
        every = (*(_BODY if field == "body" or field in OF_A_PACKAGE else ()), *own)
        missing += [f for f in every if f not in missing]
    return missing + (["which of two sizes is meant"] if body.questions and not missing else [])
