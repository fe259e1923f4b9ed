"""How a part is mounted, where its texts say it in words and no name of a package does."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Final

from capcheck.model import Basis
from capcheck.packages.candidate import Reading, Trust
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.model import PartName

_COPPER: Final = pattern(r"(?<![A-Z])(?:PCB COPPER|COPPER ONLY|NO COMPONENT|NOT A (?:COMPONENT|PART))(?![A-Z])")
"""Words for a feature of the board itself, at which nothing is placed."""
_FIELDS: Final = ("footprint", "BOM package", "description", "value")


@cache
def _patterns() -> tuple[re.Pattern[str], re.Pattern[str]]:
    return (
        re.compile(r"(?<![A-Z0-9])(?:SMD|SMT)(?![A-Z0-9])|SURFACE[-_ ]?MOUNT"),
        re.compile(
            r"(?<![A-Z0-9])(?:THT|PTH|TH|THD)(?![A-Z0-9])|THROUGH[-_ ]?HOLE|THRU[-_ ]?HOLE|(?:RADIAL|AXIAL) LEADED"
        ),
    )


def mounting_in_words(name: PartName) -> Reading | None:
    """Return a reading that states the mounting alone, from the first text that says it; None where none does.

    A text that says both (a surface-mount connector with drilled pegs) says nothing.
    """
    surface, through = _patterns()
    texts = (name.footprint, name.bom_package, name.description, name.value)
    for what, text in zip(_FIELDS, texts, strict=True):
        if len(text) < len("TH"):
            continue
        upper = text.upper()
        if (bare := _COPPER.search(upper)) is not None:
            source = f'{what} "{text}": {bare[0]}'
            return Reading(source, Basis.DECODED, Trust.FREE_TEXT, mounting="none", text=text)
        flat, drilled = surface.search(upper), through.search(upper)
        if (flat is None) == (drilled is None):
            continue
        found = flat or drilled
        word = found[0] if found is not None else ""
        source = f'{what} "{text}": {word}'
        return Reading(
            source, Basis.DECODED, Trust.FREE_TEXT, mounting="surface" if flat else "through hole", text=text
        )
    return None
