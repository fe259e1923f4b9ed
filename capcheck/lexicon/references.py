"""What the letters at the beginning of a reference designator stand for."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Literal

import msgspec
from msgspec import Struct

from capcheck.values import own_table

Chip = Literal[
    "array",
    "capacitor",
    "crystal",
    "diode",
    "ferrite bead",
    "fuse",
    "inductor",
    "led",
    "resistor",
    "thermistor",
    "varistor",
]
Form = Literal["battery holder", "connector", "fuse", "led", "relay", "sounder", "switch", "trimmer or varistor"]
Nothing = Literal["drawing", "fiducial", "hole", "logo", "net tie", "test point"]


class Letters(Struct, frozen=True, forbid_unknown_fields=True, rename="kebab"):
    """What is known of a part whose reference begins with certain letters."""

    chip: Chip | None = None
    """The kind of part in the tables of chip sizes."""
    no_chip: bool = False
    """Whether none of the class comes as a chip with a size code."""
    form: Form | None = None
    """The kind of part where only the form of its terminations counts."""
    polar: bool = False
    """Whether it must not be turned."""
    nothing: Nothing | None = None
    """What stands there instead of a part."""
    unsure: bool = False
    """Whether words that name something else count more than *nothing*."""


class _Table(Struct, frozen=True, forbid_unknown_fields=True):
    usual: dict[str, Letters]
    seldom: dict[str, Letters]


@cache
def _table() -> _Table:
    data = own_table(Path(__file__).with_name("references.toml"))
    return msgspec.convert(data, _Table)


@cache
def reference_letters() -> Mapping[str, Letters]:
    """Return what is known of each beginning of references, in capitals."""
    return _table().usual | _table().seldom


def usual_letters() -> tuple[str, ...]:
    """Return the beginnings that tell references from part numbers, where a digit follows."""
    return tuple(_table().usual)
