"""Boards checked against a line become a job for planning: passes, part types, who can take what and why not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from msgspec import Struct, field

from capcheck.errors import InputError, Problem, Where
from capcheck.facts.board import longer_and_shorter
from capcheck.facts.part import part_label
from capcheck.model import Board, Body, Codes, Kind, Side
from capcheck.planning.job import Job, PartDemand, Pass
from capcheck.refs import shortened
from capcheck.report.model import Report
from capcheck.report.takers import Take, TypeTakers, takers


class PlanInput(Struct, frozen=True):
    """A job with what planning asks about it: *can* is parts × heads (1, 0, −1), *reasons* by part and head.

    *by_hand* are the references, by board and part, that no placement head is asked about.
    """

    job: Job
    can: Codes
    reasons: Mapping[tuple[int, int], list[str]]
    by_hand: Mapping[tuple[str, str], tuple[str, ...]]


class _Part(Struct):
    """What is gathered of one part number over all boards and sides."""

    body: Body
    takes: list[tuple[Take, ...]] = field(default_factory=list)
    refs: dict[int, list[str]] = field(default_factory=dict)


def _passes(reports: Sequence[Report], per_year: Sequence[float | None]) -> dict[tuple[int, Side], Pass]:
    """Return a pass for every side of a board that has parts for the heads, in the boards' order."""
    found: dict[tuple[int, Side], Pass] = {}
    for number, (report, yearly) in enumerate(zip(reports, per_year, strict=True)):
        board = report.board
        for side in (Side.TOP, Side.BOTTOM):
            if any(_on_side(board, taker, side) for taker in takers(report) if taker.on_heads):
                marks = int(((board.placements.kind == Kind.FIDUCIAL) & (board.placements.side == side)).sum())
                width = longer_and_shorter(board)[1].value
                found[number, side] = Pass(board.name, str(side), yearly, marks=marks or None, width=width)
    return found


def _on_side(board: Board, taker: TypeTakers, side: Side) -> list[str]:
    return [board.placements.ref[row] for row in taker.rows if board.placements.side[row] == side]


def _name(board: Board, index: int, taken: Mapping[str, _Part]) -> str:
    """Return the part's number; one number on two different bodies is told apart by the footprint."""
    name = part_label(board, index)
    if name in taken and taken[name].body != board.bodies[index]:
        return f"{name} ({board.types[index].footprint or board.types[index].bom_package or 'another body'})"
    return name


def plan_input(reports: Sequence[Report], per_year: Sequence[float | None] | None = None) -> PlanInput:
    """Return the job of boards that were checked against the same line, with yearly quantities where known.

    Raises :class:`~capcheck.errors.InputError` for boards without parts for a placement head, and for two boards of
    one name.
    """
    yearly = list(per_year) if per_year is not None else [None] * len(reports)
    passes = _passes(reports, yearly)
    if not passes:
        raise InputError(
            Problem(Where(reports[0].board.name), "there is no part that a placement head could place",
                    "there is nothing to plan", "check which parts are marked as not fitted, or their side"),
        )  # fmt: skip
    order = {key: place for place, key in enumerate(passes)}
    parts: dict[str, _Part] = {}
    by_hand: dict[tuple[str, str], tuple[str, ...]] = {}
    for number, report in enumerate(reports):
        board = report.board
        # The check's order depends on the line; a job's does not, so that several lines answer for the same parts.
        for taker in sorted(takers(report), key=lambda t: t.rows):
            if not taker.on_heads:
                refs = tuple(board.placements.ref[row] for row in taker.rows)
                by_hand[board.name, part_label(board, taker.index) if taker.index >= 0 else "unnamed"] = refs
                continue
            name = _name(board, taker.index, parts) if taker.index >= 0 else "unnamed"
            part = parts.setdefault(name, _Part(board.bodies[taker.index] if taker.index >= 0 else Body()))
            part.takes.append(taker.takes)
            for side in (Side.TOP, Side.BOTTOM):
                refs_here = _on_side(board, taker, side)
                if refs_here:
                    part.refs.setdefault(order[number, side], []).extend(refs_here)
    placed = {name: part for name, part in parts.items() if part.refs}
    demands = tuple(_demand(name, part, len(passes)) for name, part in placed.items())
    job = Job(", ".join(dict.fromkeys(r.board.name for r in reports)), tuple(passes.values()), demands)
    return PlanInput(job, _can(placed.values()), _reasons(list(placed.values())), by_hand)


def _demand(name: str, part: _Part, passes: int) -> PartDemand:
    refs = tuple(tuple(part.refs.get(p, ())) for p in range(passes))
    body = part.body
    return PartDemand(
        name, tuple(map(len, refs)), refs, body.supply, body.tape_width.value, body.tape_pitch.value, body.height.value
    )


def _can(parts: Iterable[_Part]) -> Codes:
    """Return what each head is proved to do with all that goes by one part number: the worst counts."""
    rows = [np.min([[take.state for take in takes] for takes in part.takes], axis=0) for part in parts]
    return np.array(rows, dtype=np.int8)


def _reasons(parts: Sequence[_Part]) -> dict[tuple[int, int], list[str]]:
    found: dict[tuple[int, int], list[str]] = {}
    for number, part in enumerate(parts):
        for takes in part.takes:
            for head, take in enumerate(takes):
                if take.state < 1 and take.text not in found.setdefault((number, head), []):
                    found[number, head].append(take.text)
    return found


def hand_lines(given: PlanInput) -> list[str]:
    """Return a line for each type of part with leads through holes: it is placed by hand or by an odd-form machine."""
    several = len({board for board, _ in given.by_hand}) > 1
    return [
        f"{f'{board}: ' if several else ''}{part}: {shortened(refs)} ({len(refs)})"
        for (board, part), refs in given.by_hand.items()
    ]
