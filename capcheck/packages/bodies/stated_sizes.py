"""What columns of the customer's files state of a part's size, as candidates: the most trusted of all."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.model import Basis
from capcheck.packages.candidate import Candidate, Column, Trust, sides

if TYPE_CHECKING:
    from collections.abc import Mapping

    from capcheck.values import Interval

_STATED_FIELDS: Final = ("height", "span", "pitch", "ball_diameter", "lead_width", "mass")


def stated_sizes(given: Mapping[str, tuple[Interval, str]]) -> list[Candidate]:
    """Return what the columns of one file state, one candidate for each field.

    Each has the place of its own cell as its source; length and width go together, the longer side first.
    """
    found: list[Candidate] = []

    def add(place: str, **fields: object) -> None:
        found.append(replace(Candidate(Basis.STATED, Trust.STATED, Column.STATED, place), **fields))

    if "length" in given and "width" in given:
        (one, at), (other, at2) = given["length"], given["width"]
        longer, shorter = sides(one, other)
        add(at if at == at2 else f"{at}, {at2}", length=longer, width=shorter)
    else:
        for side in {"length", "width"} & given.keys():
            add(given[side][1], **{side: given[side][0]})
    for key in _STATED_FIELDS:
        if key in given:
            add(given[key][1], **{key: given[key][0]})
    if "pins" in given and given["pins"][0].is_exact:
        add(given["pins"][1], pins=int(given["pins"][0].low))
    return found
