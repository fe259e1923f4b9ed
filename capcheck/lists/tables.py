"""The tables of the lists, ``lists/data``: shares of loss, tops of bodies, terminals."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final, Literal

import msgspec
from msgspec import Struct, field

from capcheck.model import Family, LeadStyle
from capcheck.values import own_table

_DATA: Final = Path(__file__).with_name("data")


Top = Literal["flat", "round", "none", "open"]
"""A plane, a round body, nothing to hold it by; or one of these, which is not known."""


class LossClass(Struct, frozen=True, forbid_unknown_fields=True, rename="kebab"):
    """What is lost of parts of one size: a *share* of those needed, at *least* so many."""

    name: str
    share: float
    least: int
    source: str
    up_to_mm: float = float("inf")
    by_hand: bool = False


class Leader(Struct, frozen=True, forbid_unknown_fields=True, rename="kebab"):
    """The length of tape from the pick on that a feeder needs, within bounds."""

    least_mm: float
    greatest_mm: float
    source: str


class Losses(Struct, frozen=True, forbid_unknown_fields=True):
    """All classes of size, the smallest first, that of parts placed by hand, and the leader."""

    classes: tuple[LossClass, ...] = field(name="class")
    leader: Leader


class Tops(Struct, frozen=True, forbid_unknown_fields=True):
    """What a nozzle finds on top, by family and by form of the terminations."""

    families: dict[Family, Top]
    forms: dict[LeadStyle, Top]


class Many(Struct, frozen=True, forbid_unknown_fields=True):
    """Forms and families with more than two terminations."""

    forms: frozenset[LeadStyle]
    families: frozenset[Family]


class Terminals(Struct, frozen=True, forbid_unknown_fields=True):
    """Whether a part of two terminals must not be turned, and what has more than two."""

    families: dict[Family, bool]
    chips: dict[str, bool]
    many: Many


@cache
def losses() -> Losses:
    """Return the table of losses."""
    return msgspec.convert(_table("losses"), Losses)


@cache
def tops() -> Tops:
    """Return the table of tops."""
    return msgspec.convert(_table("tops"), Tops)


@cache
def terminals() -> Terminals:
    """Return the table of terminals."""
    return msgspec.convert(_table("terminals"), Terminals)


def _table(name: str) -> dict[str, object]:
    return own_table(_DATA / f"{name}.toml")
