"""Facts about the lines of the bill of materials."""

from __future__ import annotations

from collections.abc import Sequence

from capcheck.facts.catalogue import Catalogue
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.model import Board, BomLine
from capcheck.values import NUMBER, Place

facts = Catalogue()


def _lines(board: Board) -> Sequence[BomLine]:
    return board.bom or ()


@facts.text("bom.refs", "references of the line", needs="bom")
def _refs(board: Board) -> Texts:
    lines = _lines(board)
    texts = [" ".join(line.refs) or line.part_number or f"line {line.row}" for line in lines]
    return Texts.of(texts, lambda row: Place(lines[row].file, lines[row].row))


@facts.text("bom.part_number", "part number of the line, empty where none is given", needs="bom")
def _part_number(board: Board) -> Texts:
    return Texts.of([line.part_number for line in _lines(board)])


@facts.number("bom.quantity", NUMBER, "quantity that the line states", needs="bom")
def _quantity(board: Board) -> Numbers:
    return Numbers.stated([line.quantity for line in _lines(board)])


@facts.number("bom.references", NUMBER, "references that the line lists", needs="bom")
def _references(board: Board) -> Numbers:
    return Numbers.stated([float(len(line.refs)) for line in _lines(board)])


@facts.flag("bom.fitted", "whether the line is fitted", needs="bom")
def _fitted(board: Board) -> Truths:
    return Truths.of([line.fitted for line in _lines(board)])
