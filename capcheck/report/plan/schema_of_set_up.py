"""The JSON of a set-up as types: what redoes the seconds, slots and refills of its machines.

Intervals are their ends. Formulas stand where the figure does; all seconds are of what the conveyor carries.
"""

from __future__ import annotations

from typing import Annotated, Final, Literal

from msgspec import Meta, Struct

ENDS: Final = "least and greatest value; null is without bound"
Ends = Annotated[tuple[float | None, float | None], Meta(description=ENDS)]
Count = Annotated[int, Meta(ge=0)]


class TermJson(Struct, rename={"source": "from"}):
    """A line of a sum: count × seconds_each = seconds."""

    name: str
    count: float
    seconds_each: float
    seconds: float
    source: str


class HeadSumJson(Struct):
    """What a head does for one board, as a sum."""

    head: str
    sum: list[TermJson]


class GantryJson(Struct):
    """A gantry's sum over its heads, and the share of it over the board."""

    gantry: int
    seconds: float
    over_board_s: float
    heads: list[HeadSumJson]


class EndJson(Struct):
    """One end of a machine's time: placing is the longest gantry, or what all take over the board if that is more.

    Whole time: transfer + fiducials + second stop + placing; where lanes hide the transfer, the larger of all without
    it and half of all.
    """

    transfer_hidden: bool
    placing_s: float
    gantries: list[GantryJson]


class FastEndJson(EndJson):
    """The fast end, with its own transfer and second stop: a board of unknown length may need less of both."""

    transfer_s: float
    second_stop_s: float


class MachineTimeJson(Struct):
    """A machine's time for one board: planned, and within bounds from the fast sum to the slow one.

    The low end is the smaller of the fast sum and what is planned; the high end is null where not_stated names a time.
    """

    machine: str
    placements: Count
    planned_s: float
    seconds_s: Ends
    rated_s: float | None
    basis: list[str]
    not_stated: list[str]
    transfer_hidden: bool
    sum: Annotated[list[TermJson], Meta(description="board transfer, fiducials, then a second stop if there is one")]
    placing_s: float
    gantries: list[GantryJson]
    fast: FastEndJson
    slow: EndJson


class FeederJson(Struct):
    """A feeder or tray; lists are by pass of its set-up.

    boards_between_refills: parts_per_container × 1000 / (placements × (1000 + lost_per_thousand)) × boards of a panel.
    """

    machine: str
    gantry: int | None
    bank: str | None
    heads: list[str]
    part_number: str
    value: str
    package: str
    nozzle: str | None
    supply: str | None
    tape_width_mm: Ends
    tape_pitch_mm: Ends
    slots: Ends
    first_slot: float | None
    last_slot: float | None
    placements: list[Count]
    refs: list[list[str]]
    parts_per_container: int | None
    lost_per_thousand: Count
    boards_between_refills: list[float | None]
    not_proved: list[str]


class PlacesJson(Struct):
    """What a machine or bank holds of slots and tray places; slots_needed is the sum over its feeders.

    tray_unit_slots come to that where trays are needed.
    """

    machine: str
    bank: str | None
    slots_needed: Ends
    slots_needed_if_tapes_wider: float | None
    slots: int | None
    slots_free: Ends | None
    tray_unit_slots: Count
    trays_needed: Ends
    tray_places: int | None
    without_bound: list[str]
    fits: bool | None


class StationJson(Struct):
    """One station's time for one board; places tells machines from printer, oven and the like."""

    name: str
    planned_s: float
    seconds_s: Ends
    places: bool


class FiguresJson(Struct):
    """What the line delivers of one pass: cycle_s is the slowest of the stations at each end, null where untimed.

    boards_per_hour: 3600 / cycle × boards of a panel. balance_efficiency: Σ planned of the machines / (their number ×
    the slowest).
    """

    board: str
    placements: Count
    cycle_s: Ends
    planned_s: float
    bottleneck: str
    balance_efficiency: float
    takt_s: float | None
    keeps_takt: bool | None
    boards_per_hour: Ends
    placements_per_hour: Ends
    placements_per_hour_and_m2: Ends | None
    stations: list[StationJson]
    untimed: list[str]


class ValueJson(Struct):
    """A value of the search: seconds of the slowest machine, mean of the passes by weights; or placements."""

    value: float
    unit: Literal["s", "placements"]


class FeedersNeededJson(Struct):
    """Feeders: as planned, before any were saved, and the least that are proved to be needed."""

    planned: Count
    before: Count
    least: Count


class StepsJson(Struct):
    """Planned seconds of the slowest machine by pass, after each step of the search; null without seconds."""

    fastest_plan: list[float] | None
    with_fewest_feeders: list[float] | None
    balanced_again: list[float] | None


class TimesJson(Struct):
    """The machines' times for one pass."""

    board: str
    machines: list[MachineTimeJson]


class SetUpJson(Struct):
    """One set-up of the line; its lists of figures and times, and those of a feeder, are by boards.

    Price of saving feeders: Σ weights × (with_fewest_feeders − fastest_plan); balance_brings_s alike.
    """

    name: str
    boards: list[str]
    reading: str
    status: str
    weights: list[float]
    objective: ValueJson
    proven_bound: ValueJson
    gap: float
    simple_plan: float | None
    feeders_needed: FeedersNeededJson | None
    slowest_machine_s: StepsJson
    balance_brings_s: float | None
    feeders_price_s: float | None
    feeders: list[FeederJson]
    places: list[PlacesJson]
    figures: list[FiguresJson]
    times: list[TimesJson]
