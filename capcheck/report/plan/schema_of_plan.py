"""The JSON of plans, comparisons and compositions as types, for programs that read it.

Figures can be redone from it: formulas stand where the figure does.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta, Struct

from capcheck.report.plan.described_schema import described
from capcheck.report.plan.schema_of_costs import BottleneckJson, BreakEvenJson, CostJson, OwnedJson, RefillsJson
from capcheck.report.plan.schema_of_set_up import Count, Ends, SetUpJson
from capcheck.shop import DRAFT

Verdict = Literal["pass", "warn", "fail", "unanswered"]


class PassJson(Struct):
    """One side of a board; per_year counts what the conveyor carries, boards_per_panel what one of it gives."""

    board: str
    side: str
    per_year: float | None
    boards_per_panel: Count
    panel_to_order: str | None


class FinishedJson(Struct):
    """A board with all its passes: line_seconds_s = Σ cycles; boards_per_hour = boards_per_panel × 3600 / that."""

    board: str
    sides: Count
    boards_per_panel: Count
    line_seconds_s: Ends
    line_seconds_per_board_s: Ends
    boards_per_hour: Ends


class TwoLanesJson(Struct):
    """A board with a side on each lane, in seconds of a panel; null where that does not go.

    Of a machine: the largest of Σ (fiducials + placing) of both sides, and of each side's transfer + fiducials +
    placing; what places nothing takes its cycle once or twice.
    """

    board: str
    seconds_s: Ends | None
    planned_s: float | None
    set_by: str | None
    machines_without: list[str]
    lacks_common_set_up: bool
    width_not_stated: list[str]


class TwoLinesJson(Struct):
    """A board with its top on one line and its bottom on another: the slower side's cycle."""

    board: str
    top: str
    bottom: str
    boards_per_panel: Count
    seconds_s: Ends
    planned_s: float


class HeadJson(Struct):
    """A placement head of a machine."""

    name: str
    gantry: int
    nozzles: int | None
    rated_per_hour: float | None


class DeviceJson(Struct):
    """What a machine's profile states that the plan's figures come from."""

    name: str
    uptime: float | None
    length_mm: float | None
    depth_mm: float | None
    rated_per_hour: float | None
    lanes: int
    heads: list[HeadJson]


class OtherStationJson(Struct):
    """A station of the line that places nothing."""

    name: str
    cycle_s: float | None
    length_mm: float | None


class BenchOfLineJson(Struct):
    """A bench of the line; without a length it stands beside it."""

    name: str
    seconds_each: float | None
    people: int
    length_mm: float | None


class LineJson(Struct):
    """The line."""

    name: str
    machines: list[str]
    devices: list[DeviceJson]
    stations: list[OtherStationJson]
    benches: list[BenchOfLineJson]


class ReasonJson(Struct):
    """Why a head does not place a part."""

    head: str
    reason: str


class NowhereJson(Struct):
    """A part that no machine takes."""

    part_number: str
    placements: Count
    reasons: list[ReasonJson]


class SlotsShortJson(Struct):
    """Slots that a machine or bank lacks."""

    machine: str
    slots: float


class TraysShortJson(Struct):
    """Tray places that a machine or bank lacks."""

    machine: str
    tray_places: float


class TakeOffJson(Struct):
    """A part number that would have to go."""

    part_number: str
    placements: Count


class ShortageJson(Struct):
    """Why the line cannot place everything: the smallest reason."""

    no_machine: list[NowhereJson]
    slots_short: list[SlotsShortJson]
    tray_places_short: list[TraysShortJson]
    take_off: list[TakeOffJson]
    displaced_by_trays: list[str]
    fewest_proved: bool
    order_or_nozzles: bool
    impossible_proved: bool


class HandJson(Struct):
    """What is placed by hand of one part number: placements × seconds_each; no hand places what a bench lists too."""

    board: str
    part_number: str
    placements: Count
    seconds_each: float | None
    refs: list[str]
    why: str


class BenchJson(Struct):
    """What a bench does for one panel of a board: placements × seconds_each / people = seconds."""

    bench: str
    board: str
    placements: Ends
    seconds_each: float | None
    people: int
    seconds: Ends | None
    line_s: Ends | None
    slower_than_line: bool | None


class MovedJson(Struct):
    """A feeder that is moved."""

    machine: str
    part_number: str


class ChangeoverJson(Struct, rename={"before": "from", "after": "to", "into": "in"}):
    """From one set-up to the next."""

    before: str
    after: str
    out: list[MovedJson]
    into: list[MovedJson]


class OrderJson(Struct):
    """How the set-ups follow each other."""

    set_ups: list[str]
    feeders_put_on_a_round: Count
    in_the_order_given: Count
    at_least: Count
    feeders_in_other_slots: Count


class CommonShortageJson(Struct):
    """What one set-up for all passes lacks."""

    slots: list[SlotsShortJson]
    tray_places: list[TraysShortJson]
    order_or_nozzles: bool


class FloorJson(Struct):
    """Floor: Σ lengths of machines, stations and benches of the line; area: Σ length × depth of its machines."""

    length_mm: float | None
    free_length_mm: float | None
    fits: bool | None
    machine_area_m2: float | None


class YearlyJson(Struct):
    """Set-ups of a board in a year: batches × seconds / 3600 = hours."""

    board: str
    batches: Ends
    seconds: Ends
    hours: Ends


class DemandJson(Struct):
    """Takt: hours × 3600 × least uptime (1 where not stated) / passes_per_year.

    Needed: Σ cycle × per_year / 3600. Available: (hours − set_up_hours) × uptime.
    """

    scheduled_hours_per_year: float
    passes_per_year: float
    uptime: Ends | None
    takt_s: float
    running_hours_needed: Ends
    running_hours_available: Ends
    set_up_hours: Ends | None
    set_ups: list[YearlyJson]
    met: bool | None


class AccuracyJson(Struct):
    """How accurately a head places a part: Cpk = (allowed − rotation) / (3 × sigma)."""

    part_number: str
    machine: str
    head: str
    used: bool
    allowed_mm: Ends
    allowed_from: str
    rotation_mm: Ends
    sigma_mm: Ends
    cpk: Ends
    limit: float
    reached: bool | None
    not_known: str
    assumed: str


class ChangeJson(Struct):
    """A single change, and what it brings."""

    kind: str
    what: str
    cycle_s: float | None
    saves_s: float | None
    solves: bool
    fewer_left_over: int
    hand_s: float | None


class BarePlanJson(Struct, kw_only=True):
    """A plan."""

    schema: Literal["capcheck-plan/1"]
    verdict: Verdict
    why: list[str]
    job: str
    boards: Annotated[list[PassJson], Meta(description="a pass for each side that is placed")]
    finished_boards: list[FinishedJson]
    two_lanes: list[TwoLanesJson]
    line: LineJson
    set_ups: list[SetUpJson]
    shortage: ShortageJson | None
    by_hand: list[HandJson]
    benches: list[BenchJson]
    costs: list[CostJson]
    break_even: BreakEvenJson | None
    refills: list[RefillsJson]
    feeders_to_own: list[OwnedJson]
    on_bottleneck: list[BottleneckJson]
    changeovers: list[ChangeoverJson]
    set_up_order: OrderJson | None
    one_set_up_lacks: CommonShortageJson | None
    floor: FloorJson
    uptime: Annotated[
        Ends | None,
        Meta(description="uptime_stated; without it from the product of the machines' to the least of them"),
    ]
    uptime_stated: Annotated[
        float | None, Meta(description="of the line as a whole: as asked for, else as its file states")
    ]
    rated_per_hour: float | None
    rated_per_hour_and_m2: float | None
    demand: DemandJson | None
    accuracy: list[AccuracyJson]
    not_computed: list[str]
    notes: list[str]
    changes: list[ChangeJson]


class PlanJson(BarePlanJson, kw_only=True):
    """What ``capcheck plan --format json`` prints."""

    cautions: str


class RowJson(Struct):
    """One line of a comparison."""

    line: str
    machines: list[str]
    verdict: Verdict
    left_over: Count
    not_proved: Count
    slots_needed: Ends
    slots: int | None
    cycle_s: float | None
    cycle_is_at_least: bool
    cycle_proved_share: float | None
    boards_per_hour: float | None
    cycle_within_s: Ends | None
    boards_per_hour_within: Ends | None
    placements_per_hour_and_m2_within: Ends | None
    length_mm: float | None
    machine_area_m2: float | None
    placements_per_hour_and_m2: float | None
    cost_of_board: Ends | None
    feeders_out: Count
    feeders_in: Count
    plan: BarePlanJson


class ComparisonJson(Struct, tag_field="schema", tag="capcheck-comparison/1"):
    """What ``capcheck compare --line … --format json`` prints."""

    criterion: str
    best: str | None
    not_told_from_best: list[str]
    lines: list[RowJson]
    two_lines: list[TwoLinesJson]
    cautions: str


class SearchJson(Struct):
    """What was searched of a stock."""

    criterion: str
    machines: list[str] | None
    lines: Count
    planned: Count
    complete: bool
    proven_bound: float | None


class CompositionJson(Struct, tag_field="schema", tag="capcheck-composition/1"):
    """What ``capcheck compare --stock … --format json`` prints."""

    search: SearchJson
    plan: BarePlanJson | None
    cautions: str


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of what ``capcheck plan --format json`` prints."""
    return {"$schema": DRAFT, "title": "capcheck plan", **described(msgspec.json.schema(PlanJson))}


def comparison_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of what ``capcheck compare --format json`` prints, lines or a stock."""
    both = described(msgspec.json.schema(ComparisonJson | CompositionJson))
    return {"$schema": DRAFT, "title": "capcheck compare", **both}
