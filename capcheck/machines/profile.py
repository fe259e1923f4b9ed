"""A machine profile: what one placement machine takes, as ``NAME.machine.toml``.

Every limit may be left out; what is left out is unknown and never counts as a pass. Each field's description is
also its help in the JSON Schema, in ``capcheck facts`` and in error messages.
"""

# Annotations are not kept as text here: pydantic would compile each of them anew at every start.
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator, model_validator

from capcheck.machines.banks import Bank, faults_of
from capcheck.machines.head import Head, HeadOption, faults_of_options, fitted, ordered
from capcheck.values import (
    Acceleration,
    Interval,
    Length,
    Number,
    PositiveLength,
    PositiveMass,
    PositiveTime,
    Rate,
    Speed,
    Time,
)

_STRICT = ConfigDict(extra="forbid", frozen=True, defer_build=True, allow_inf_nan=False)

FiducialKind = Literal["circle", "square", "diamond", "triangle", "cross"]


class BoardLimits(BaseModel):
    """What boards pass through the machine. Length is along the conveyor, width across it."""

    model_config = _STRICT

    min_length: Length | None = Field(None, description="shortest board, along the conveyor")
    max_length: PositiveLength | None = Field(None, description="longest board, along the conveyor")
    buffered_length: PositiveLength | None = Field(
        None, description="longest board that waits in the machine's own buffers; longer ones wait outside"
    )
    one_stop_length: PositiveLength | None = Field(
        None, description="longest board that is placed in one stop; longer ones are moved on and clamped again"
    )
    min_width: Length | None = Field(None, description="narrowest board, across the conveyor")
    max_width: PositiveLength | None = Field(None, description="widest board, across the conveyor")
    min_thickness: Length | None = Field(None, description="thinnest board")
    max_thickness: PositiveLength | None = Field(None, description="thickest board")
    max_mass: PositiveMass | None = Field(None, description="heaviest board with what is placed on it")
    lanes: Literal[1, 2] = Field(1, description="conveyor lanes")
    max_dual_lane_width: PositiveLength | None = Field(
        None, description="widest board while both lanes run; with two lanes only"
    )
    edge_clearance_top: Length | None = Field(
        None, description="component keep-out along each conveyor edge on the upper side"
    )
    edge_clearance_bottom: Length | None = Field(
        None, description="component keep-out along each conveyor edge on the underside"
    )
    underside_clearance: Length | None = Field(
        None, description="room under the board for parts already on the underside"
    )
    top_clearance: Length | None = Field(
        None, description="room above the board under the lowest carried part, for parts already placed"
    )
    max_warp: Length | None = Field(None, description="greatest bow or twist of a clamped board, as a height")
    tooling_pins: int | None = Field(
        None,
        strict=True,
        ge=0,
        le=100,
        description="pins that hold the board by its holes; left out or 0 where edges hold it",
    )

    @model_validator(mode="after")
    def _limits_are_ordered(self) -> Self:
        ordered(self.min_length, self.max_length, "length")
        ordered(self.buffered_length, self.max_length, "length with buffers")
        ordered(self.one_stop_length, self.max_length, "length in one stop")
        ordered(self.min_width, self.max_width, "width")
        ordered(self.min_thickness, self.max_thickness, "thickness")
        ordered(self.max_dual_lane_width, self.max_width, "width on both lanes")
        if self.max_dual_lane_width is not None and self.lanes == 1:
            raise ValueError("there is one lane, and max_dual_lane_width is for two; add lanes = 2, or leave it out")
        return self


class FiducialLimits(BaseModel):
    """What marks the machine's board camera finds."""

    model_config = _STRICT

    kinds: tuple[FiducialKind, ...] | None = Field(
        None, min_length=1, description="shapes of fiducials that are recognised"
    )
    min_diameter: Length | None = Field(None, description="smallest fiducial that is recognised")
    max_diameter: PositiveLength | None = Field(None, description="largest fiducial that is recognised")
    search_window: Length | None = Field(None, description="side of the square in which a fiducial is searched")

    @model_validator(mode="after")
    def _limits_are_ordered(self) -> Self:
        ordered(self.min_diameter, self.max_diameter, "diameter")
        return self


class Feeders(BaseModel):
    """Places for tapes, sticks, bowls and trays."""

    model_config = _STRICT

    slots: int | None = Field(None, strict=True, ge=0, le=100_000, description="feeder slots, both sides together")
    slots_used: dict[Annotated[str, Field(pattern=r"^[1-9][0-9]{0,2} mm$")], Annotated[float, Field(gt=0)]] | None = (
        Field(None, description='slots that a feeder takes, by tape width: { "8 mm" = 1, "12 mm" = 2 }')
    )
    stick_slots: float | None = Field(None, gt=0, description="slots that a stick feeder takes for one part number")
    bowl_slots: float | None = Field(None, gt=0, description="slots that a bowl feeder takes for one part number")
    tray_places: int | None = Field(
        None, strict=True, ge=0, le=100_000, description="trays that can be offered without a stop"
    )
    tray_slots: int | None = Field(
        None, strict=True, ge=0, le=100_000, description="feeder slots that the tray unit takes when it is mounted"
    )

    @model_validator(mode="after")
    def _tray_unit_has_room(self) -> Self:
        if self.slots is not None and self.tray_slots is not None and self.tray_slots > self.slots:
            raise ValueError(f"the tray unit takes {self.tray_slots} slots of {self.slots}; correct one of them")
        return self

    def slots_without_tape(self, supply: str) -> float | None:
        """Return the slots that a feeder for sticks or a bowl takes; None where the profile is silent."""
        return self.stick_slots if supply == "stick" else self.bowl_slots

    @cached_property
    def slots_by_mm(self) -> dict[int, float]:
        """Slots that a feeder takes by the tape's width in mm; empty where the profile is silent."""
        return {int(name.split()[0]): used for name, used in (self.slots_used or {}).items()}


class Timing(BaseModel):
    """Times and speeds for the cycle-time sum; where main ones are left out only the rated speed is used."""

    model_config = _STRICT

    pick: PositiveTime | None = Field(None, description="down, vacuum and up at a feeder, for one part")
    place: PositiveTime | None = Field(None, description="down, blow off and up on the board, for one part")
    vision: Time | None = Field(None, description="measuring all parts on the nozzles once")
    gang_pick: bool = Field(False, description="whether one stroke picks with several nozzles at once")
    speed: Speed | None = Field(None, description="greatest travel speed of an axis")
    acceleration: Acceleration | None = Field(None, description="acceleration of an axis")
    travel_to_board: Length | None = Field(None, description="typical travel from feeders to board, one way")
    travel_between_parts: Length | None = Field(None, description="typical travel between two places on the board")
    travel_between_feeders: Length | None = Field(None, description="typical travel between two picks")
    nozzle_change: Time | None = Field(None, description="one nozzle change")
    tray: Time | None = Field(None, description="extra time to offer a part from a tray, each pick")
    board_transfer: Time | None = Field(None, description="finished board out, next board in and clamped")
    board_transfer_unbuffered: Time | None = Field(
        None, description="board_transfer of a board that is too long for the machine's buffers"
    )
    second_stop: Time | None = Field(
        None, description="moving a long board on to its second stop, clamping it and finding its fiducials anew"
    )
    fiducial: Time | None = Field(None, description="moving to one fiducial and reading it")
    derate: tuple[Number, Number] | None = Field(
        None, description="share of the rated speed reached on real boards, least and greatest, as [0.6, 0.8]"
    )
    uptime: Number | None = Field(None, gt=0, le=1, description="share of the scheduled time in which the machine runs")

    @model_validator(mode="after")
    def _derate_is_a_share(self) -> Self:
        if self.derate is not None:
            ordered(self.derate[0], self.derate[1], "derate")
            if not 0 < self.derate[0] <= self.derate[1] <= 1:
                raise ValueError(f"a derate is a share between 0 and 1, not {list(self.derate)}")
        return self


class MachineProfile(BaseModel):
    """One placement machine."""

    model_config = _STRICT

    name: str = Field(min_length=1, description="name of the machine, as reports print it")
    note: str = Field("", description="where the figures come from, for the reader of a report")
    floor_width: PositiveLength | None = Field(None, description="floor that the machine takes along the line")
    floor_depth: PositiveLength | None = Field(None, description="floor that the machine takes across the line")
    rated: Rate | None = Field(None, description="rated placements per hour of the whole machine")
    board: BoardLimits = Field(BoardLimits.model_construct(), description="what boards pass through")
    fiducials: FiducialLimits = Field(FiducialLimits.model_construct(), description="what fiducials are found")
    feeders: Feeders = Field(Feeders.model_construct(), description="places for tapes, sticks, bowls and trays")
    timing: Timing = Field(Timing.model_construct(), description="times and speeds for the cycle-time sum")
    head: tuple[Head, ...] = Field(min_length=1, description="the heads, at least one")
    bank: tuple[Bank, ...] | None = Field(
        None, min_length=1, description="the feeder banks; left out: all heads reach all slots"
    )
    option: tuple[HeadOption, ...] = Field(
        (), description="head and camera options: what heads with one state anew, where a line says that it has it"
    )
    sheet: dict[str, str | int | float | bool | tuple[str | int | float, ...]] = Field(
        {}, description="what the machine's specification says besides, for readers: no rule reads it"
    )

    @field_validator("bank")
    @classmethod
    def _banks_agree(cls, banks: tuple[Bank, ...] | None, info: ValidationInfo) -> tuple[Bank, ...] | None:
        if banks and {"head", "feeders"} <= info.data.keys():  # else those have faults of their own
            heads = {head.name: head.gantry for head in info.data["head"]}
            stated = info.data["feeders"].model_dump(include={"slots", "tray_slots", "tray_places"})
            faults = list(faults_of(banks, heads, stated))
            if faults:
                raise ValueError("; ".join(faults))
        return banks

    @field_validator("option")
    @classmethod
    def _options_agree(cls, options: tuple[HeadOption, ...], info: ValidationInfo) -> tuple[HeadOption, ...]:
        faults = list(faults_of_options(options, info.data.get("head", ()))) if "head" in info.data else []
        if faults:
            raise ValueError("; ".join(faults))
        return options

    @model_validator(mode="after")
    def _speeds_agree(self) -> Self:
        faults = [fault for head in self.head for fault in faults_of_speeds(self, head)]
        if faults:
            raise ValueError("; ".join(faults))
        return self

    def sums(self, head: Head) -> bool:
        """Whether a head's seconds are the sum of the machine's times; else they are those of a rated speed, or none.

        A rated speed counts where one of the times is left out.
        """
        timing = self.timing
        moves = timing.travel_to_board, timing.travel_between_parts, timing.travel_between_feeders
        main = timing.pick, timing.place, timing.vision, timing.speed, timing.acceleration, head.nozzles
        return None not in (*main, *moves) or not (head.rated or self.rated)

    @property
    def slower_together(self) -> float:
        """How many times slower the whole machine is rated than its heads together; 1 if that is unknown."""
        rates = [head.rated for head in self.head if head.rated]
        return sum(rates) / self.rated if self.rated and len(rates) == len(self.head) else 1.0

    def with_options(self, names: Sequence[str]) -> Self:
        """Return the machine with the options of these names, which it must have.

        Raises ValueError, with what to do, where two of them state one limit of a head or contradict each other.
        """
        chosen = [option for option in self.option if option.name in names]
        changed = self.model_copy(update={"head": fitted(self.head, chosen)})
        faults = [fault for head in changed.head for fault in faults_of_speeds(changed, head)]
        if faults:
            raise ValueError("; ".join(faults))
        return changed

    @model_validator(mode="after")
    def _head_names_are_unique(self) -> Self:
        names = [head.name for head in self.head]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f'two heads are named "{twice[0]}"; reports need a name for each')
        return self

    @property
    def room_above(self) -> Interval | None:
        """Room in mm under what its heads carry over the board: of the lowest and the highest; None if one is unknown.

        Nothing is proved to pass under a machine that the lowest of its heads would hit.
        """
        own = [self.board.top_clearance if head.top_clearance is None else head.top_clearance for head in self.head]
        stated = [room for room in own if room is not None]
        return Interval(min(stated), max(stated)) if len(stated) == len(own) else None

    @property
    def slots(self) -> int | None:
        """Feeder slots of the whole machine, those of its banks together; None if unknown."""
        return self.feeders.slots if self.bank is None else sum(bank.slots for bank in self.bank)

    @property
    def tray_places(self) -> int | None:
        """Trays that the machine offers, at its banks or beside them; None if unknown."""
        stated = [bank.tray_places for bank in self.bank or () if bank.tray_places is not None]
        return sum(stated) if stated else self.feeders.tray_places

    @property
    def rated_per_hour(self) -> float | None:
        """Rated placements per hour: as stated for the machine, else the sum over the heads; None if unknown."""
        if self.rated is not None:
            return self.rated
        rates = [head.rated for head in self.head]
        return sum(r for r in rates if r is not None) if all(r is not None for r in rates) else None

    @property
    def rated_per_hour_and_m2(self) -> float | None:
        """Rated placements per hour and square metre of the machine's own floor; None if unknown."""
        if self.rated_per_hour is None or self.floor_width is None or self.floor_depth is None:
            return None
        return self.rated_per_hour / (self.floor_width * self.floor_depth * 1e-6)


def faults_of_speeds(machine: MachineProfile, head: Head) -> Iterator[str]:
    """Yield what contradicts itself in the speeds that ranges of a head state, each with what to do."""
    stated = {"pick": machine.timing.pick, "place": machine.timing.place}
    for number, one in enumerate(head.range or (), 1):
        where = f'range {number} of head "{head.name}" states'
        times = [name for name in stated if getattr(one, name) is not None]
        if times and not machine.sums(head) and one.rated is None:
            yield f"{where} {times[0]}, but the head's seconds are those of its rated speed; state rated there"
        if one.rated is not None and machine.sums(head) and not times:
            yield f"{where} rated, but the head's seconds are the sum of [timing]; state pick or place there"
        if one.rated is not None and (head.rated is None or one.rated > head.rated):
            than = "states none" if head.rated is None else f"{head.rated:g} 1/hour"
            yield f"{where} rated {one.rated:g} 1/hour, the head {than}; that of the head is for its fastest parts"
        for name in times:
            own, here = stated[name], getattr(one, name)
            if own is None or here < own:
                than = "states none" if own is None else f"{own:g} s"
                yield f"{where} {name} {here:g} s, [timing] {than}; that of [timing] is for the fastest parts"
