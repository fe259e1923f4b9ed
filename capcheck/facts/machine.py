"""Facts about the machines: the profile's fields, each under the name that rules use."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Final

from capcheck.facts.catalogue import Catalogue
from capcheck.facts.columns import Numbers, Sets, Texts, Truths
from capcheck.machines import BoardLimits, Feeders, FiducialLimits, Line, MachineProfile
from capcheck.values import LENGTH, MASS, NUMBER, OUTPUT_PER_AREA, RATE, Dimension, Interval

if TYPE_CHECKING:
    from pydantic import BaseModel

facts = Catalogue()

FIELDS: Final[tuple[tuple[str, str, str, Dimension], ...]] = (
    ("min_board_length", "board", "min_length", LENGTH),
    ("max_board_length", "board", "max_length", LENGTH),
    ("buffered_length", "board", "buffered_length", LENGTH),
    ("one_stop_length", "board", "one_stop_length", LENGTH),
    ("min_board_width", "board", "min_width", LENGTH),
    ("max_board_width", "board", "max_width", LENGTH),
    ("min_board_thickness", "board", "min_thickness", LENGTH),
    ("max_board_thickness", "board", "max_thickness", LENGTH),
    ("max_board_mass", "board", "max_mass", MASS),
    ("max_dual_lane_width", "board", "max_dual_lane_width", LENGTH),
    ("lanes", "board", "lanes", NUMBER),
    ("edge_clearance_top", "board", "edge_clearance_top", LENGTH),
    ("edge_clearance_bottom", "board", "edge_clearance_bottom", LENGTH),
    ("underside_clearance", "board", "underside_clearance", LENGTH),
    ("max_warp", "board", "max_warp", LENGTH),
    ("tooling_pins", "board", "tooling_pins", NUMBER),
    ("min_fiducial_diameter", "fiducials", "min_diameter", LENGTH),
    ("max_fiducial_diameter", "fiducials", "max_diameter", LENGTH),
    ("fiducial_search_window", "fiducials", "search_window", LENGTH),
)
"""Fact, section of the profile, field and dimension of every limit that is a plain number."""

_SECTIONS: Final[dict[str, type[BaseModel]]] = {"board": BoardLimits, "fiducials": FiducialLimits}


def _numbers(get: Callable[[MachineProfile], float | None]) -> Callable[[Line], Numbers]:
    def provide(line: Line) -> Numbers:
        return Numbers.stated([get(m) for m in line.machines], lambda row: f"profile of {line.machines[row].name}")

    return provide


def _field(section: str, field: str) -> Callable[[MachineProfile], float | None]:
    def get(machine: MachineProfile) -> float | None:
        value: float | None = getattr(getattr(machine, section), field)
        return value

    return get


for _fact, _section, _name_of_field, _dimension in FIELDS:
    _help = _SECTIONS[_section].model_fields[_name_of_field].description or ""
    facts.number(f"machine.{_fact}", _dimension, _help)(_numbers(_field(_section, _name_of_field)))


@facts.number("machine.top_clearance", LENGTH, BoardLimits.model_fields["top_clearance"].description or "")
def _room_above(line: Line) -> Numbers:
    """Return the room under what its heads carry: from the lowest to the highest, as which of them works is open."""
    rooms = [m.room_above or Interval(-math.inf, math.inf) for m in line.machines]
    return Numbers.of(rooms, lambda row: f"profile of {line.machines[row].name}")


facts.number("machine.feeder_slots", NUMBER, Feeders.model_fields["slots"].description or "")(
    _numbers(lambda m: m.slots)
)
facts.number("machine.tray_places", NUMBER, Feeders.model_fields["tray_places"].description or "")(
    _numbers(lambda m: m.tray_places)
)
facts.number("machine.rated", RATE, "rated placements per hour of the whole machine")(
    _numbers(lambda m: m.rated_per_hour)
)
facts.number("machine.rated_per_area", OUTPUT_PER_AREA, "rated placements per hour and floor area")(
    _numbers(lambda m: m.rated_per_hour_and_m2)
)


@facts.text("machine.name", "name of the machine")
def _name(line: Line) -> Texts:
    return Texts.of([m.name for m in line.machines])


@facts.set_of(
    "machine.fiducial_kinds",
    FiducialLimits.model_fields["kinds"].description or "",
    choices=("circle", "square", "diamond", "triangle", "cross"),
)
def _kinds(line: Line) -> Sets:
    kinds = [m.fiducials.kinds for m in line.machines]
    return Sets([None if k is None else frozenset(k) for k in kinds])


def any_of(values: Iterable[bool | None]) -> bool | None:
    """Return Kleene's *or* of known and unknown (None) truths."""
    listed = list(values)
    return True if True in listed else None if None in listed else False


def all_of(values: Iterable[bool | None]) -> bool | None:
    """Return Kleene's *and* of known and unknown (None) truths."""
    listed = list(values)
    return False if False in listed else None if None in listed else True


@facts.flag("machine.has_banks", "whether the profile states feeder banks")
def _banks(line: Line) -> Truths:
    return Truths.of([bool(m.bank) for m in line.machines], lambda row: f"profile of {line.machines[row].name}")


@facts.flag("machine.checks_coplanarity", "whether a head of the machine measures coplanarity")
def _coplanarity(line: Line) -> Truths:
    return Truths.of([any_of(h.coplanarity_check for h in m.head) for m in line.machines])
