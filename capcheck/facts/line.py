"""Facts about the line as a whole."""

from __future__ import annotations

from typing import Any

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Sets, Texts, Truths
from capcheck.facts.part import part_rows
from capcheck.machines.line import Line
from capcheck.model import Board
from capcheck.units import LENGTH, NUMBER

facts = Catalogue()


def _file(line: Line, field: str) -> Any:  # noqa: ANN401  whatever the field holds
    return None if line.file is None else getattr(line.file, field)


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
    stations = _file(line, "inspection")
    return Sets([None if stations is None else frozenset(stations)], lambda _: f"line {line.name}")


@facts.flag("line.hand_placement", "whether a station for placing by hand belongs to the line")
def _hand(line: Line) -> Truths:
    return Truths.of([_file(line, "hand_placement")], lambda _: f"line {line.name}")


@facts.number("line.free_length", LENGTH, "floor length there is for the whole line")
def _free(line: Line) -> Numbers:
    return Numbers.stated([_file(line, "free_length")], lambda _: f"line {line.name}")


@facts.number("line.hidden_joint_parts", NUMBER, "parts to place whose joints are hidden under the body")
def _hidden(session: Session, board: Board) -> Numbers:
    return _parts(session, board, [body.hidden_joints is True for body in board.bodies])


@facts.number("line.ball_grid_parts", NUMBER, "parts to place with balls, columns or lands under the body")
def _grids(session: Session, board: Board) -> Numbers:
    styles = {"ball grid", "column grid", "land grid"}
    return _parts(session, board, [body.lead_style in styles for body in board.bodies])


@facts.number("line.through_hole_parts", NUMBER, "parts to place with leads through holes")
def _through_hole(session: Session, board: Board) -> Numbers:
    return _parts(session, board, [body.mounting == "through hole" for body in board.bodies])
