"""Types of part that differ only in texts that say nothing of a body: what is known of one is known of all of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from capcheck.lexicon import shape
from capcheck.packages.candidate import Column
from capcheck.packages.names import is_silent, part_number_is_silent

if TYPE_CHECKING:
    from collections.abc import Hashable

    from capcheck.model import PartName


def told_by_footprint(name: PartName) -> Hashable | None:
    """Return what the body of *name* depends on where footprint and package alone tell it; None where more does.

    Part number, value and description count by their shapes then, which say what kind of part it is and no more.
    """
    if name.dimensions or name.other_dimensions or name.mountings or name.joints or name.drawn:
        return None
    letters, number = name.ref_prefix.upper(), name.part_number
    told = (name.footprint, name.bom_package)
    if number and any(number.strip().upper() in text.upper() for text in told):
        return None  # a footprint that is named by the number that is fitted
    prose = ((Column.VALUE, name.value), (Column.DESCRIPTION, name.description))
    if not part_number_is_silent(number) or not all(is_silent(text, column, letters) for column, text in prose):
        return None
    return (*told, letters, name.mounted, shape(number), shape(name.value), shape(name.description))
