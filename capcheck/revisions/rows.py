"""What is compared of a board: each row of its placements, and what its bill of materials lists beside them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from capcheck.model import NOT_ON_THE_SURFACE, Board, Kind, PartName, Side, Topic


class Row(Struct, frozen=True):
    """A reference of one revision. *index* is its row among the placements, −1 where the BOM alone lists it."""

    ref: str
    kind: Kind = Kind.PART
    side: Side = Side.UNKNOWN
    x_mm: float = math.nan
    y_mm: float = math.nan
    rotation_deg: float = math.nan
    fitted: bool = True
    part_number: str = ""
    value: str = ""
    footprint: str = ""
    index: int = -1
    on_the_surface: bool | None = None
    """Whether a placement head is asked about it; None where that is not known."""
    polarised: bool | None = None

    @property
    def is_placed(self) -> bool:
        """Whether it has a place."""
        return math.isfinite(self.x_mm + self.y_mm)

    @property
    def key(self) -> tuple[str, str, str]:
        """What names its type, without what only looks different."""
        return folded(self.part_number), together(self.value), folded(self.footprint)

    @property
    def label(self) -> str:
        """What a reader calls its type; blank where nothing names it."""
        return self.part_number or " ".join(filter(None, (self.value, self.footprint)))


def folded(name: str) -> str:
    """Return a part number or footprint as it is compared: capitals and spaces do not matter."""
    return together(name).casefold()


def together(text: str) -> str:
    """Return a value as it is compared: spaces do not matter, capitals do, since m and M are two prefixes."""
    return "".join(text.split())


def rows_of(board: Board, *, circuits: bool = True) -> list[Row]:
    """Return the rows of a board, of a panel those of the first circuit alone unless *circuits* are asked for."""
    placements = board.placements
    every = set(placements.ref)
    rows = []
    for index, (ref, x, y, rotation, side, kind, fitted, of) in enumerate(
        zip(
            placements.ref,
            placements.x_mm.tolist(),
            placements.y_mm.tolist(),
            placements.rotation_deg.tolist(),
            placements.side.tolist(),
            placements.kind.tolist(),
            placements.fitted.tolist(),
            placements.part_type.tolist(),
            strict=True,
        )
    ):
        if not circuits and "/" in ref and ref.partition("/")[0] in every:
            continue
        name = board.types[of] if of >= 0 else PartName()
        body = board.bodies[of] if of >= 0 else None
        mounting = None if body is None else body.mounting
        rows.append(
            Row(
                ref=ref,
                kind=Kind(kind),
                side=Side(side),
                x_mm=x,
                y_mm=y,
                rotation_deg=rotation,
                fitted=fitted,
                part_number=name.part_number,
                value=name.value,
                footprint=name.footprint,
                index=index,
                on_the_surface=None if mounting is None else mounting not in NOT_ON_THE_SURFACE,
                polarised=None if body is None else body.polarised,
            )
        )
    rows += _listed_only(board, every | {ref.partition("/")[0] for ref in every})
    return rows


def _listed_only(board: Board, placed: set[str]) -> Iterator[Row]:
    """Yield what the BOM lists and no placement has, each reference once."""
    missing = {ref for found in board.discrepancies if found.topic is Topic.NOT_PLACED for ref in found.refs}
    joined = set(board.placements.bom_line.tolist())
    seen = set(placed)
    for number, line in enumerate(board.bom or ()):
        for ref in line.refs:
            if ref in seen or (number in joined and ref not in missing):
                continue
            seen.add(ref)
            yield Row(ref=ref, fitted=line.fitted, part_number=line.part_number, value=line.value)


def circuits_of(board: Board) -> int:
    """Return how many circuits the rows of a stepped panel count, 1 for a single board."""
    every = set(board.placements.ref)
    numbers = (ref.rpartition("/") for ref in every if "/" in ref)
    return max((int(n) for base, _, n in numbers if base in every and n.isdecimal() and len(n) < 6), default=1)
