"""A library to fill in: a row for each part whose body is not fully known, with what is missing of it."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Final

from capcheck.packages.bodies.unknowns import unknown_fields
from capcheck.packages.library import KEYS, MEASURES
from capcheck.values import LENGTH, MASS, NUMBER

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.model import Body, PartName

_FILL_IN: Final = "length", "width", "height", "pitch", "pins", "mass", "mounting", "lead style", "supply"


def library_template(types: Sequence[PartName], bodies: Sequence[Body]) -> str:
    """Return a library as CSV text with a row for each part whose body is not fully known, ready to be filled in.

    Sizes are in mm and mass in g. Parts that share a part number and a footprint make one row; what is known stands
    in the last columns for the reader and is not read back.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    units = {LENGTH: " [mm]", MASS: " [g]"}
    titles = [f + units.get(MEASURES.get(f, NUMBER), "") for f in _FILL_IN]
    writer.writerow([*KEYS, *titles, "value", "used by", "what is missing"])
    seen: set[tuple[str, str]] = set()
    for name, body in zip(types, bodies, strict=True):
        missing = _missing(body)
        key = _template_key(name)
        if not missing or key in seen or key == ("", ""):
            continue
        seen.add(key)
        blank = [""] * len(_FILL_IN)
        writer.writerow([*key, *blank, name.value, name.where, ", ".join(missing)])
    return out.getvalue()


def _template_key(name: PartName) -> tuple[str, str]:
    """Return the keys of a template's row: the part number where there is one, else the footprint.

    A name that itself holds a wildcard's sign is written as it is, and fits itself.
    """
    return (name.part_number, "") if name.part_number else ("", name.footprint)


def _missing(body: Body) -> list[str]:
    missing = [field.replace("_", " ") for field in unknown_fields(body)]
    return missing + (["which of two sizes is meant"] if body.questions and not missing else [])
