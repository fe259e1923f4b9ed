"""From boards checked against a line to a job for planning: passes, part types, who can place what and why not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import chain, count

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.engine import Take, TypeTakers
from capcheck.facts import Numbers, Session, longer_and_shorter, marks_of, part_label, travels
from capcheck.geometry import shown_on
from capcheck.machines import Head
from capcheck.model import Basis, Board, Body, Mounting, Side, say
from capcheck.planning.accuracy import CPK_CAPABLE, Joint, capability_of, joint_of
from capcheck.planning.job import Capabilities, Job, PartDemand, Pass, Reasons
from capcheck.values import UNKNOWN_SIZE, InputError, Interval


class PlanInput(Struct, frozen=True):
    """A job with what the heads can place of it and why they cannot.

    *by_hand* are the references, by board and part, that no placement head is asked about.
    """

    job: Job
    can: Capabilities
    reasons: Reasons
    by_hand: Mapping[tuple[str, str], tuple[str, ...]]


class Supply(Struct, frozen=True):
    """What the shop knows besides the profiles: parts on a reel, in a tray or a stick, and seconds to place by hand."""

    per_container: Mapping[str, int] = field(default_factory=dict)
    hand_seconds: float | None = None


class _Part(Struct):
    """What is gathered of one part number over all boards and sides."""

    body: Body
    joint: Joint
    takes: list[tuple[Take, ...]] = field(default_factory=list)
    """Each head's answer as planning counts it, once for each type of part that goes by the number."""
    checked: list[tuple[int, ...]] = field(default_factory=list)
    """The same as the check has it."""
    refs: dict[int, list[str]] = field(default_factory=dict)
    values: dict[str, None] = field(default_factory=dict)
    packages: dict[str, None] = field(default_factory=dict)


def plan_input(
    reports: Sequence[Report], per_year: Sequence[float | None] | None = None, supply: Supply | None = None
) -> PlanInput:
    """Return the job of boards that were checked against the same line, with yearly quantities where known.

    A board without parts for a placement head has no pass. Raises :class:`~capcheck.values.InputError` for two boards
    of one name.
    """
    yearly = list(per_year) if per_year is not None else [None] * len(reports)
    passes = _passes(reports, yearly)
    parts, by_hand = _gathered(reports, {key: place for place, key in enumerate(passes)})
    placed = {name: part for name, part in parts.items() if part.refs}
    job = Job(
        name=", ".join(dict.fromkeys(r.board.name for r in reports)),
        passes=tuple(passes.values()),
        parts=tuple(_demand(name, part, len(passes), supply or Supply()) for name, part in placed.items()),
        file="command line",
        without_pass={
            report.board.name: None if quantity is None else quantity / (_pieces(report) * report.carried.circuits)
            for number, (report, quantity) in enumerate(zip(reports, yearly, strict=True))
            if not any(board == number for board, _ in passes)
        },
    )
    heads = sum(len(machine.head) for machine in reports[0].line.machines) if reports[0].line else 0
    can = _can(list(placed.values()), heads)
    return PlanInput(job, can, _reasons(list(placed.values()), can), by_hand)


def _passes(reports: Sequence[Report], per_year: Sequence[float | None]) -> dict[tuple[int, Side], Pass]:
    """Return a pass for every side of a board that has parts for the heads, in the boards' order.

    Where a panel is ordered the conveyor carries that: parts are those of one board, fiducials all of the panel's.
    """
    found: dict[tuple[int, Side], Pass] = {}
    for number, (report, yearly) in enumerate(zip(reports, per_year, strict=True)):
        board = report.board
        pieces, carried = _pieces(report), report.carried
        for side in (Side.TOP, Side.BOTTOM):
            if any(_on_side(board, taker, side) for taker in report.takers if taker.on_heads):
                marks, _ = shown_on(carried.session.shared(marks_of), side)
                found[number, side] = Pass(
                    board=board.name,
                    side=str(side),
                    per_year=None if yearly is None else yearly / (pieces * carried.circuits),
                    circuits=carried.circuits,
                    marks=len(marks) or None,
                    width=longer_and_shorter(carried.board)[1].value,
                    pieces=pieces,
                    length=UNKNOWN_SIZE if report.line is None else _along(carried.session),
                )
    return found


def _along(session: Session) -> Interval:
    """Return the length along the conveyor that what is carried may have: as it travels through each machine."""
    along = [way.along for way in session.shared(travels)]
    return Interval(min(one.low for one in along), max(one.high for one in along))


def _pieces(report: Report) -> int:
    """Return the number of boards that are parted from what the board's files show."""
    return round(_number(report, "board.circuits").low)


def _refuse_without_heads(report: Report, heads: int) -> None:
    """Raise :class:`InputError` where no rule asked what the heads take: then nothing is known of who places what."""
    if any(len(taker.takes) != heads for taker in report.takers if taker.on_heads):
        raise InputError.at(
            report.board.name,
            "no rule was asked about what the heads take",
            "a plan needs to know who can place what",
            "select the rules about parts on heads too",
        )


def _gathered(
    reports: Sequence[Report], order: Mapping[tuple[int, Side], int]
) -> tuple[dict[str, _Part], dict[tuple[str, str], tuple[str, ...]]]:
    """Return the parts of all boards by number, and the references that no head is asked about by board and part."""
    heads = [head for machine in (reports[0].line.machines if reports[0].line else ()) for head in machine.head]
    parts: dict[str, _Part] = {}
    by_hand: dict[tuple[str, str], tuple[str, ...]] = {}
    for number, report in enumerate(reports):
        _refuse_without_heads(report, len(heads))
        board, overhang = report.board, _number(report, "board.overhang_share")
        # The check's order depends on the line; a job's does not, so that several lines answer for the same parts.
        for taker in sorted(report.takers, key=lambda t: t.rows):
            if taker.index >= 0 and board.bodies[taker.index].mounting == Mounting.NONE:
                continue
            if not taker.on_heads:
                key = board.name, part_label(board, taker.index) if taker.index >= 0 else "unnamed"
                by_hand[key] = (*by_hand.get(key, ()), *(board.placements.ref[row] for row in taker.rows))
                continue
            name = _name(board, taker.index, parts) if taker.index >= 0 else "unnamed"
            body = board.bodies[taker.index] if taker.index >= 0 else Body()
            joint = joint_of(body, overhang)
            part = parts.setdefault(name, _Part(body, joint))
            if joint.allowed.low < part.joint.allowed.low:
                part.joint = joint
            if taker.index >= 0:
                kind = board.types[taker.index]
                part.values[kind.value] = part.packages[kind.bom_package or kind.footprint] = None
            part.checked.append(tuple(take.state for take in taker.takes))
            part.takes.append(tuple(_planned(t, body, joint, head) for t, head in zip(taker.takes, heads, strict=True)))
            for side in (Side.TOP, Side.BOTTOM):
                refs_here = _on_side(board, taker, side)
                if refs_here:
                    part.refs.setdefault(order[number, side], []).extend(refs_here)
    return parts, by_hand


def _on_side(board: Board, taker: TypeTakers, side: Side) -> list[str]:
    rows = np.array(taker.rows, dtype=np.int64)
    return [board.placements.ref[row] for row in rows[board.placements.side[rows] == side].tolist()]


def _name(board: Board, index: int, taken: Mapping[str, _Part]) -> str:
    """Return the part's number; one number on several bodies is told apart by the footprint, then by counting."""
    number, kind, body = part_label(board, index), board.types[index], board.bodies[index]
    apart = kind.footprint or kind.bom_package or "another body"
    names = chain([number, f"{number} ({apart})"], (f"{number} ({apart}, {k})" for k in count(2)))
    return next(name for name in names if name not in taken or taken[name].body.figures == body.figures)


def _number(report: Report, fact: str) -> Interval:
    """Return a number that the board has one of."""
    column = report.session.get(fact)
    if not isinstance(column, Numbers):
        raise TypeError(f"{fact} is no number")
    return Interval(float(column.low[0]), float(column.high[0]))


def _planned(take: Take, body: Body, joint: Joint, head: Head) -> Take:
    """Return a head's answer as planning counts it: what only warns in a check stands where nothing else does."""
    if take.state < 1:
        return take
    if body.supply is not None and head.supplies is not None and body.supply not in head.supplies:
        why = say("planning.supply form", usual=body.supply, supplies=head.supplies)
        return Take(0, "supply-form", why=why)
    cpk = capability_of(joint, head)
    if joint.assumed is None and cpk.reaches() is False:
        return Take(0, "accuracy", why=say("planning.Cpk below", most=cpk.cpk.high, usual=CPK_CAPABLE))
    return take


def _demand(name: str, part: _Part, passes: int, supply: Supply) -> PartDemand:
    refs = tuple(tuple(part.refs.get(p, ())) for p in range(passes))
    body = part.body
    return PartDemand(
        name=name,
        counts=tuple(map(len, refs)),
        refs=refs,
        supply=body.supply,
        tape_width=body.tape_width.value,
        tape_pitch=body.tape_pitch.value,
        length=_longer_side(body),
        height=body.height.proved.value,
        per_container=supply.per_container.get(name, body.parts_per_reel),
        nozzle=body.nozzle,
        value=", ".join(filter(None, part.values)),
        package=", ".join(filter(None, part.packages)),
        lost_per_thousand=body.lost_per_thousand or 0,
        hand_seconds=supply.hand_seconds,
        joint=part.joint,
        usual_supply=body.supply_is_usual,
        usual_tape=body.supply == "tape" and body.tape_width.basis is Basis.TYPICAL,
        pocket=None if body.pocket_depth.basis is Basis.UNKNOWN else body.pocket_depth.value,
        reel=body.reel.value,
    )


def _longer_side(body: Body) -> Interval:
    """Return the longer side; of a body whose length lies along its own x that may be either."""
    length, width = body.length.proved.value, body.width.proved.value
    return Interval(max(length.low, width.low), max(length.high, width.high)) if body.oriented else length


def _can(parts: Sequence[_Part], heads: int) -> Capabilities:
    """Return what each head is proved to do with all that goes by one part number: the worst counts.

    Where no head takes the part without a warning, those count as taking it that the check proves: sooner they than
    heads of which it is open.
    """
    rows = []
    for part in parts:
        row = np.min([[take.state for take in takes] for takes in part.takes], axis=0)
        rows.append(row if (row > 0).any() else np.maximum(row, np.min(part.checked, axis=0)))
    return np.array(rows, dtype=np.int8).reshape(len(parts), heads)


def _reasons(parts: Sequence[_Part], can: Capabilities) -> Reasons:
    """Return why heads do not take parts, or are not proved to; for those that do after all, what is warned of."""
    found: dict[tuple[int, int], dict[Take, None]] = {}
    for number, part in enumerate(parts):
        for takes in part.takes:
            for head, take in enumerate(takes):
                if take.state < 1:
                    counted = replace(take, state=1) if can[number, head] > 0 else take
                    found.setdefault((number, head), {})[counted] = None
    return {key: tuple(takes) for key, takes in found.items()}
