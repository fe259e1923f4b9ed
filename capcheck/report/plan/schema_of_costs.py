"""The JSON of costs, refills, feeders to own and the bottleneck as types: what redoes each of their figures."""

from __future__ import annotations

from msgspec import Struct

from capcheck.report.plan.schema_of_set_up import Count, Ends


class CostTermJson(Struct):
    """A kind of cost for one board made.

    machines, hand: rate × seconds / 3600; operators: number × rate × seconds / 3600; feeders: rate × seconds of
    feeders / 3600; set-up: (line_hour × stands / 3600 + people_hour × work / 3600 + fixed) / batch.
    """

    kind: str
    amount: Ends
    figures: dict[str, Ends]


class WayJson(Struct):
    """How many carts are exchanged, and how many feeders are put on one by one."""

    carts: int
    feeders_one_by_one: int


class SetUpWorkJson(Struct):
    """What setting the line up for a batch takes.

    line_stands_s: its least is the least sides × board_s + feeders_one_by_one × feeder_s / people (none where
    feeders_beside) + carts × cart_s with the numbers at_best, its most the same with those at_worst; where these are
    null, with the ends of both numbers. work_s: sides × board_s × people + feeders × feeder_s + carts × cart_s ×
    people. A cart is exchanged where that is quicker, which the minutes may leave open: carts and feeders_one_by_one
    are the least and the most there may be.
    """

    sides: Count
    feeders: Ends
    people: int
    board_s: Ends | None
    feeder_s: Ends | None
    feeders_beside: bool
    feeders_one_by_one: Ends
    carts: Ends
    cart_s: Ends | None
    at_best: WayJson | None
    at_worst: WayJson | None
    line_stands_s: Ends
    work_s: Ends


class RateJson(Struct):
    """The rate of an hour of a machine or station."""

    name: str
    rate: Ends | None


class CostJson(Struct):
    """What a board costs: per_board_made = Σ terms; per_good_board = that / good; occupied_s = line_s / uptime.

    boards_per_shift: shift_hours × 3600 / (occupied_s + line_stands_s / batch) × good.
    """

    board: str
    currency: str
    per_good_board: Ends | None
    per_board_made: Ends | None
    terms: list[CostTermJson]
    not_counted: list[str]
    open_because: list[str]
    good: Ends
    hourly_rates: list[RateJson]
    refill_minutes: Ends | None
    line_s: Ends
    uptime: Ends | None
    occupied_s: Ends
    batch: Ends | None
    set_up: SetUpWorkJson
    shift_hours: Ends | None
    boards_per_shift: Ends | None
    good_share_of_time: Ends | None


class BoardBreakEvenJson(Struct):
    """One board in a common set-up and in one of its own."""

    board: str
    weight: float
    common_s: float
    own_s: float
    common_stands_s: Ends
    own_stands_s: Ends


class BreakEvenJson(Struct):
    """One set-up for all against one each: batch = saved_s / slower_s; slower_s = Σ weight × (common_s − own_s)."""

    boards: list[BoardBreakEvenJson]
    slower_s: float
    saved_s: Ends
    batch: Ends | None


class RefillsJson(Struct):
    """Refills of an hour of a pass: Σ passes per hour / passes between refills; people: × refill_minutes / 60."""

    board: str
    per_hour: Ends
    per_hour_of_known_containers: Ends
    containers_not_known: list[str]
    people: Ends | None


class OwnedJson(Struct):
    """Feeders of a kind that the shop needs."""

    supply: str | None
    tape_width_mm: int | None
    at_once: Ends
    with_next_beside: Ends


class OnBottleneckJson(Struct):
    """A part number on the slowest machine; a placement takes its head's sum / the head's placements."""

    part_number: str
    placements: Count
    seconds: Ends


class BottleneckJson(Struct):
    """What stands on the slowest machine of a pass."""

    board: str
    machine: str
    sets_cycle: bool
    parts: list[OnBottleneckJson]
