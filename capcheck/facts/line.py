"""Facts about the line as a whole."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Sets, Texts, Truths
from capcheck.facts.part import part_rows
from capcheck.lexicon import sentence
from capcheck.machines import Line, LineFile
from capcheck.model import Board, say
from capcheck.values import AREA, LENGTH, NUMBER, Interval

facts = Catalogue()


_NOTHING_STATED: Final = LineFile.model_construct(name="", machines=())
"""Of a line put together from machine profiles alone."""


def _stated(line: Line) -> LineFile:
    return line.file or _NOTHING_STATED


def _parts(session: Session, board: Board, chosen: list[bool]) -> Numbers:
    types = board.placements.part_type[session.shared(part_rows)]
    flags = np.array([*chosen, False])
    return Numbers.exactly(np.array([float(flags[types].sum())]))


@facts.text("line.name", "name of the line")
def _name(line: Line) -> Texts:
    return Texts.of([line.name])


@facts.number("line.machines", NUMBER, "machines in the line")
def _machines(line: Line) -> Numbers:
    return Numbers.exactly(np.array([float(len(line.machines))]))


@facts.set_of("line.inspection", "inspection stations in or beside the line", choices=("paste", "optical", "X-ray"))
def _inspection(line: Line) -> Sets:
    stations = _stated(line).inspection
    return Sets([None if stations is None else frozenset(stations)], lambda _: f"line {line.name}")


@facts.flag("line.heads_differ", "whether a head of the line states which parts it takes by their mounting")
def _heads_differ(line: Line) -> Truths:
    return Truths.of([any(head.takes for machine in line.machines for head in machine.head)])


@facts.flag("line.hand_placement", "whether a station for placing by hand belongs to the line")
def _hand(line: Line) -> Truths:
    return Truths.of([line.hand_placement], lambda _: f"line {line.name}")


@facts.number("line.free_length", LENGTH, "floor length there is for the whole line")
def _free(line: Line) -> Numbers:
    return Numbers.stated([_stated(line).free_length], lambda _: f"line {line.name}")


@facts.number("line.length", LENGTH, "length of the machines and of the stations that place nothing, one after another")
def _length(line: Line) -> Numbers:
    silent = [name for name, length in line.lengths if length is None]
    low = sum(length or 0.0 for _, length in line.lengths)
    source = (
        sentence(say("facts.line silent on lengths", line=line.name, silent=silent)) if silent else f"line {line.name}"
    )
    return Numbers.of([Interval(low, math.inf if silent else low)], lambda _: source)


@facts.number("line.machine_area", AREA, "floor area of the machines themselves, without stations and aisles")
def _area(line: Line) -> Numbers:
    sides = [(m.floor_width, m.floor_depth) for m in line.machines]
    low = sum((w or 0.0) * (d or 0.0) for w, d in sides)
    silent = any(w is None or d is None for w, d in sides)
    return Numbers.of([Interval(low, math.inf if silent else low)], lambda _: f"line {line.name}")


@facts.number("line.free_area", AREA, "floor area there is for the line's machines, without aisles")
def _free_area(line: Line) -> Numbers:
    return Numbers.stated([_stated(line).free_area], lambda _: f"line {line.name}")


@facts.number("line.hidden_joint_parts", NUMBER, "parts to place whose joints are hidden under the body")
def _hidden(session: Session, board: Board) -> Numbers:
    return _parts(session, board, [body.hidden_joints is True for body in board.bodies])


@facts.number("line.ball_grid_parts", NUMBER, "parts to place with balls, columns or lands under the body")
def _grids(session: Session, board: Board) -> Numbers:
    styles = {"ball grid", "column grid", "land grid"}
    return _parts(session, board, [body.lead_style in styles for body in board.bodies])


@facts.number("line.through_hole_parts", NUMBER, "through-hole parts to place")
def _through_hole(session: Session, board: Board) -> Numbers:
    return _parts(session, board, [body.mounting == "through hole" for body in board.bodies])
