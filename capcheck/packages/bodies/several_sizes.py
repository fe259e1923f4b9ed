"""The bodies that a name leaves open, where what counts is the hull of several of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from capcheck.model import Measure, PossibleBody
from capcheck.packages.candidate import Candidate, distinct, sides

if TYPE_CHECKING:
    from collections.abc import Mapping


def possible_bodies(size: Candidate | None, measures: Mapping[str, Measure]) -> tuple[PossibleBody, ...]:
    """Return the bodies that the measures are the hull of, where the candidate for the size means several of them."""
    if size is None or any(
        side not in measures or measures[side].value != getattr(size, side) for side in ("length", "width")
    ):
        return ()
    return distinct(
        PossibleBody(
            m.family,
            *sides(m.length, m.width),
            nominal=((m.nominal_length or m.length).low, (m.nominal_width or m.width).low),
        )
        for m in size.members
        if m.family and m.length is not None and m.width is not None
    )
