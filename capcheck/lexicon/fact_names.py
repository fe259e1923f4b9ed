"""The names of facts as words for a reader."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

_WORDS: Final[Mapping[str, str]] = {
    "board.panel_fiducials": "fiducials on the panel's rails",
    "passage.tallest_below": "height of the tallest part underneath",
    "fiducial.ring": "clear area around it",
    "fiducial.ring_needed": "clear area needed around it",
    "part.contour_distance": "distance to the board's edge",
    "part.free_ring": "free space around the part",
    "side.half_turn_miss": "offset of the fiducials after half a turn",
    "side.fiducial_across": "lesser share of length and width between the fiducials",
    "side.fiducial_share": "distance of the fiducials, as a share of the diagonal",
    "side.fiducial_spread": "difference between the largest and the smallest fiducial",
    "side.populated": "whether there are parts on a side",
    "part.is_part": "whether all are parts",
    "part.located": "positions",
    "part.hanging_load": "mass over the area of the joints",
    "passing.leading_distance": "distance to the leading edge",
    "placing.has_tape_feeder": "feeder for each tape width possible",
    "line.feeders_without_bank": "feeders that no bank takes",
    "line.types_without_bank": "part numbers that no bank takes",
    "line.takes_one_way": "whether one way round suits all machines",
    "transport.leading_straight": "how straight the leading edge is",
    "transport.notch": "gaps in the conveyor edge",
    "transport.stop_cutout": "cut-out at the leading edge",
    "transport.takes_spread": "size of the board",
}
"""Facts whose names are no words of the trade."""

_MEMBERS: Final = ("pair.first.", "pair.second.")


def plain_fact(fact: str) -> str:
    """Return the name of a fact without its scope, in words: ``lead style``, ``lead style of the first``."""
    if fact.startswith(_MEMBERS):
        _, which, own = fact.split(".", 2)
        return f"{plain_fact(f'part.{own}')} of the {which}"
    if "(" in fact:
        return fact.removeprefix("part.").removeprefix("bom.")
    return _WORDS.get(fact) or fact.split(".", 1)[-1].replace("_", " ")
