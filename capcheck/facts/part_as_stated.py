"""What the customer's files state of each part in their own words: value, maker, place, and any column of the BOM."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Final

import numpy as np

from capcheck.facts.catalogue import Catalogue, Fact, Provider, Session, UnknownFactError
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.facts.pair import of_one_member
from capcheck.facts.part import part_rows, type_of_part
from capcheck.facts.place import frame_certain
from capcheck.lexicon import sentence
from capcheck.model import Board, BomLine, Family, Floats, Side, say
from capcheck.values import LENGTH, NUMBER, pattern

facts = Catalogue()

_COLUMN: Final = pattern(r"""(part|bom)\.column\((['"])([^'"{}:!]{1,100})\2\)""")
_MEMBER: Final = pattern(r"pair\.(first|second)\.(.+)")


def _stated(session: Session, values: Sequence[str]) -> Texts:
    """Return texts by type of part; what is not stated is unknown."""
    return Texts.of([*(value or None for value in values), None]).take(session.shared(type_of_part))


@facts.text("part.value", "value as stated, such as 4k7")
def _value(session: Session, board: Board) -> Texts:
    return _stated(session, [name.value for name in board.types])


@facts.text("part.description", "description as stated")
def _description(session: Session, board: Board) -> Texts:
    return _stated(session, [name.description for name in board.types])


@facts.text(
    "part.package_family",
    "family of packages by which bounds are chosen; part.family is the name in full, such as 'SOIC-8'",
    choices=tuple(Family),
)
def _package_family(session: Session, board: Board) -> Texts:
    return _stated(session, [body.family_key or "" for body in board.bodies])


@facts.flag("part.polarised", "whether it matters which way round the part is placed")
def _polarised(session: Session, board: Board) -> Truths:
    return Truths.of([*(body.polarised for body in board.bodies), None]).take(session.shared(type_of_part))


@facts.text("part.side", "side of the board that the part is on", choices=("top", "bottom"))
def _side(session: Session, board: Board) -> Texts:
    side = board.placements.side[session.shared(part_rows)].astype(np.int64)
    return Texts(np.where(side == Side.UNKNOWN, -1, side), ["top", "bottom"])


def _places(session: Session, board: Board, stated: Floats) -> Numbers:
    """Return coordinates where it is settled in which unit and frame they are."""
    rows, placed = session.shared(part_rows), board.placements
    known = np.full(len(rows), board.unit_settled)
    if placed.place_open is not None:
        known &= ~placed.place_open[rows]
    if board.outline is not None:
        sides = placed.side[rows]
        for side in (Side.TOP, Side.BOTTOM):
            known &= (sides != side) | frame_certain(board, side)
        known &= sides != Side.UNKNOWN
    return Numbers.exactly(np.where(known, stated[rows], np.nan))


@facts.number("part.x", LENGTH, "place of the part along the board's x, as stated")
def _x(session: Session, board: Board) -> Numbers:
    return _places(session, board, board.placements.x_mm)


@facts.number("part.y", LENGTH, "place of the part along the board's y, as stated")
def _y(session: Session, board: Board) -> Numbers:
    return _places(session, board, board.placements.y_mm)


def _line_of_part(session: Session, board: Board, of: Callable[[BomLine], str | None]) -> list[str | None]:
    lines = [*(of(line) or None for line in board.bom or ()), None]
    return [lines[at] for at in board.placements.bom_line[session.shared(part_rows)].tolist()]


@facts.text("part.maker", "who makes the part, as the BOM states it", needs="bom")
def _maker(session: Session, board: Board) -> Texts:
    return Texts.of(_line_of_part(session, board, lambda line: line.maker))


@facts.text("board.customer", 'whom the board is built for: customer = "…" in capcheck.toml, or --customer')
def _customer(customer: str) -> Texts:
    return Texts.of([customer or None])


def _title(text: str) -> str:
    return "".join(text.casefold().split())


def _titles(board: Board) -> dict[str, str]:
    every = dict.fromkeys(title for line in board.bom or () for title in line.cells)
    return {_title(title): title for title in every}


def columns_not_there(board: Board, names: Iterable[str]) -> list[str]:
    """Return the titles of columns that facts of these names ask for and that the BOM, where there is one, has not."""
    there = _titles(board)
    titles = [match[3] for name in names if (match := _COLUMN.search(name.replace("pair.first", "part")))]
    return [title for title in dict.fromkeys(titles) if board.bom and _title(title) not in there]


def titles_of_bom(board: Board) -> list[str]:
    """Return the titles of the BOM's columns, as they stand in the file."""
    return list(_titles(board).values())


def _column_of(scope: str, title: str) -> Provider:
    key = _title(title)

    def provide(session: Session, board: Board) -> Texts:
        there = session.shared(_titles)

        def of(line: BomLine) -> str | None:
            return line.cells.get(there.get(key, "")) or None

        found = [of(line) for line in board.bom or ()] if scope == "bom" else _line_of_part(session, board, of)
        lacking = "" if key in there else sentence(say("facts.no such column", title=title))
        return Texts.of(found, lambda row: lacking)  # noqa: ARG005  said of every row

    return provide


@facts.family
def _columns(catalogue: Catalogue, name: str) -> Fact | None:  # noqa: ARG001
    """Return the fact of a column of the BOM by its title: ``part.column('Moisture level')``."""
    match = _COLUMN.fullmatch(name)
    if match is None:
        return None
    text = f'what the BOM states below "{match[3]}"'
    return Fact(name, "text", NUMBER, text, _column_of(match[1], match[3]), needs="bom")


@facts.family
def _members(catalogue: Catalogue, name: str) -> Fact | None:
    """Return the fact of one member of each pair: ``pair.first.height``."""
    match = _MEMBER.fullmatch(name)
    if match is None:
        return None
    own = match[2]
    try:
        fact = catalogue[f"part.{own}"]
    except UnknownFactError as error:
        raise UnknownFactError(str(error).replace("part.", f"pair.{match[1]}.")) from None
    text = f"of the {match[1]} of the two parts: {fact.help}"
    return Fact(name, fact.kind, fact.dimension, text, of_one_member(name), fact.given, fact.needs, names=fact.names)
