"""In which forms parts come: how they are mounted, the form of their terminations, and what they are supplied in."""

from __future__ import annotations

import enum
from typing import Final


class Mounting(enum.StrEnum):
    """How a part is mounted."""

    SURFACE = "surface"
    THROUGH_HOLE = "through hole"
    NONE = "none"
    """A feature of the board, or copper alone: nothing is placed."""


NOT_ON_THE_SURFACE: Final = frozenset((Mounting.THROUGH_HOLE, Mounting.NONE))


class LeadStyle(enum.StrEnum):
    """The form of a part's terminations."""

    CHIP = "chip"
    MELF = "melf"
    MOLDED = "molded"
    GULL_WING = "gull wing"
    FLAT_LEAD = "flat lead"
    J_LEAD = "J lead"
    NO_LEAD = "no lead"
    BALL_GRID = "ball grid"
    LAND_GRID = "land grid"
    COLUMN_GRID = "column grid"
    CAN = "can"
    """An aluminium electrolytic capacitor."""
    LEADS = "leads"
    """Rows of leads or lands of a form that is not known, but no balls."""
    OTHER = "other"


class Packaging(enum.StrEnum):
    """What a part is supplied in."""

    TAPE = "tape"
    TRAY = "tray"
    STICK = "stick"
    BOWL = "bowl"
    """Loose, sorted by a bowl that shakes; nothing but the shop's own records says so."""
