"""What to order: parts needed, what is lost on the way by size class, what a strip without leader costs, reels."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from capcheck.lexicon import is_named
from capcheck.lists.part_list import (
    Cell,
    ListRow,
    PartList,
    body_of_type,
    fitted_by_type,
    is_bare,
    refs_of,
    together,
)
from capcheck.lists.tables import LossClass, Losses, losses
from capcheck.model import NOT_ON_THE_SURFACE, Basis, Board, Body, BomLine, Kind, Mounting, Packaging, Said, say
from capcheck.packages import alternates, class_named
from capcheck.shop import Configuration
from capcheck.values import InputError, Interval, nearest

COLUMNS = ("part number", "size class", "per board", "needed", "lost", "to order", "more if cut tape")
REEL_COLUMNS = ("per reel", "reels", "left over")
ALTERNATES = "any of"


class _Bought(Struct, frozen=True):
    """One part number: pieces on a board (None where nobody says), its references, and the bodies that go by it."""

    label: str
    each: Fraction | None
    refs: tuple[str, ...]
    bodies: tuple[Body, ...]
    note: Said | None = None
    copper: Said | None = None
    """Why nothing is bought."""
    is_numbered: bool = False
    """Whether the label is a part number of the BOM."""
    alternates: tuple[str, ...] = ()
    """The numbers that one cell of the BOM names, any of which may be fitted."""
    provided: Fraction = Fraction(0)
    """How many of the pieces on a board the customer provides."""


def losses_in_force(configuration: Configuration) -> Losses:
    """Return the table of losses with what the configuration states. Raises :class:`InputError` for unknown classes."""
    table, stated = losses(), configuration.values.losses
    names = [row.name for row in table.classes]
    for name in stated:
        if name not in names:
            remedy = nearest(name, names) or f"the classes are {', '.join(names)}"
            raise InputError.at(configuration.where("losses", name), f'there is no size class "{name}"', remedy=remedy)
    classes = []
    for row in table.classes:
        if (own := stated.get(row.name)) is not None:
            share = row.share if own.share is None else own.share
            least = row.least if own.least is None else own.least
            source = str(configuration.where("losses", row.name))
            classes.append(replace(row, share=share, least=least, source=source))
        else:
            classes.append(row)
    return replace(table, classes=tuple(classes))


def order_list(
    board: Board, boards: int = 1, *, per_reel: Mapping[str, int] | None = None, table: Losses | None = None
) -> PartList:
    """Return what to order for so many boards; of a panel that board.toml describes, each circuit is a board.

    *per_reel* are parts on a reel, in a tray or a tube by part number. Every fitted part is in one row, and every
    line of the BOM that the placements do not list.
    """
    table = table or losses()
    panel = board.manifest.panel
    circuits = 1 if panel is None else panel.columns * panel.rows
    panels = math.ceil(boards / circuits)
    placed, others = _placed(board, circuits), _not_placed(board)
    every = [replace(bought, alternates=alternates(bought.label)) for bought in _by_number(placed, others)]
    with_alternates = any(bought.alternates for bought in every)
    rows = [_row(bought, panels * circuits, table, per_reel) for bought in every]
    if with_alternates:
        rows = [replace(r, cells=(*r.cells, b.alternates or "")) for r, b in zip(rows, every, strict=True)]
    open_ = [row for row in rows if row.cells[COLUMNS.index("to order")] is None]
    totals = [
        say(
            "lists.ordered for",
            boards=boards,
            placed=round(sum(b.each or 0 for b in placed)),
            numbers=len(placed),
            others=len(others),
        )
    ]
    if circuits > 1:
        totals.append(say("lists.of panels", panels=panels, circuits=circuits, boards=panels * circuits))
    if left_off := _left_off(board):
        totals.append(say("lists.left off", refs=left_off))
    if open_:
        totals.append(say("lists.order open", count=len(open_)))
    notes = [say("lists.one set-up"), say("lists.leader", source=table.leader.source)]
    if per_reel is None:
        notes.append(say("lists.no reels"))
    else:
        unmet = sorted(set(per_reel) - {bought.label for bought in every})
        if unmet:
            notes.append(say("lists.reels of others", names=unmet))
    columns = (*COLUMNS, *(REEL_COLUMNS if per_reel is not None else ()), *([ALTERNATES] if with_alternates else ()))
    return PartList("order", board.name, columns, rows, totals, notes)


def _placed(board: Board, circuits: int) -> list[_Bought]:
    found = []
    for label, types in sorted(together(board, fitted_by_type(board)).items()):
        rows = [row for same in types.values() for row in same]
        strangers = [row for row in rows if board.bom is not None and board.placements.bom_line[row] < 0]
        note = say("lists.not in BOM", refs=list(refs_of(board, strangers))) if strangers else None
        bodies = tuple(body_of_type(board, index) for index in types)
        copper = say("lists.copper") if all(is_bare(board, index) for index in types) else _copper(bodies)
        refs = refs_of(board, rows)
        given = [ref for ref in refs if _is_provided(board, ref)]
        if given:
            told = _said_provided(board, given)
            note = told if note is None else say("lists.both", first=note, second=told)
        share = Fraction(len(given), circuits)
        found.append(_Bought(label, Fraction(len(rows), circuits), refs, bodies, note, copper, provided=share))
    return found


def _is_provided(board: Board, ref: str) -> bool:
    return ref in board.provided or ref.partition("/")[0] in board.provided


def _said_provided(board: Board, refs: Sequence[str]) -> Said:
    bare = dict.fromkeys(ref.partition("/")[0] for ref in refs)
    texts = dict.fromkeys(board.provided.get(ref, board.provided.get(ref.partition("/")[0], "")) for ref in refs)
    return say("lists.provided", refs=list(bare), texts=list(texts))


def _not_placed(board: Board) -> list[_Bought]:
    """Return what the BOM buys and no placement row stands for: its references, or a quantity alone."""
    rows = board.placements
    apart = {ref.partition("/")[0] for ref, kind in zip(rows.ref, rows.kind.tolist(), strict=True) if kind != Kind.PART}
    parts = {ref.partition("/")[0] for ref, kind in zip(rows.ref, rows.kind.tolist(), strict=True) if kind == Kind.PART}
    found = []
    for line in board.bom or ():
        if not line.fitted:
            continue
        left = tuple(ref for ref in line.refs if ref not in parts)
        if left and not set(left) - apart and not line.part_number:
            continue  # copper that the BOM lists too
        if left:
            key = "lists.BOM apart" if set(left) <= apart else "lists.BOM alone"
            note = say(key, refs=list(left), place=_place(line))
            given = [ref for ref in left if _is_provided(board, ref)]
            if given:
                note = say("lists.both", first=note, second=_said_provided(board, given))
            bought = _Bought(_name(line), Fraction(len(left)), left, (Body(),), note, is_numbered=_has_number(line))
            found.append(replace(bought, provided=Fraction(len(given))))
        elif not line.refs:
            each = None if line.quantity is None else Fraction(line.quantity).limit_denominator(1000)
            note = say("lists.BOM without references", place=_place(line))
            found.append(_Bought(_name(line), each, (), (Body(),), note, is_numbered=_has_number(line)))
    return found


def _by_number(placed: Sequence[_Bought], others: Sequence[_Bought]) -> list[_Bought]:
    """Return all with those of one part number as one: a reel serves what is placed and what the BOM has beside it."""
    found = {bought.label: bought for bought in placed}
    apart = []
    for more in others:
        first = found.get(more.label)
        if not more.is_numbered or first is None:
            if more.is_numbered:
                found[more.label] = more
            else:
                apart.append(more)
            continue
        each = None if first.each is None or more.each is None else first.each + more.each
        note = more.note if first.note is None else say("lists.both", first=first.note, second=more.note)
        given = first.provided + more.provided
        found[more.label] = replace(first, each=each, refs=(*first.refs, *more.refs), note=note, provided=given)
    return [*found.values(), *apart]


def _left_off(board: Board) -> list[str]:
    """Return the references that a fitted line of the BOM buys and the placements, or board.toml, leave off."""
    places = board.placements
    bought = {ref for line in board.bom or () if line.fitted for ref in line.refs}
    off = ~places.fitted & (places.kind == Kind.PART)
    bare = dict.fromkeys(places.ref[row].partition("/")[0] for row in off.nonzero()[0].tolist())
    return [ref for ref in bare if ref in bought]


def _place(line: BomLine) -> str:
    return str(replace(line.place, file=Path(line.file).name))


def _has_number(line: BomLine) -> bool:
    return is_named(line.part_number)


def _name(line: BomLine) -> str:
    number = line.part_number if _has_number(line) else ""
    return number or " ".join(filter(None, (line.value, line.package))) or line.description or "unnamed"


def _row(bought: _Bought, boards: int, table: Losses, per_reel: Mapping[str, int] | None) -> ListRow:
    needed = None if bought.each is None else math.ceil(bought.each * boards)
    classes = classes_of(bought.bodies, table.classes)
    own = _own_loss(bought.bodies)
    lost: int | None = None
    if own is not None and needed is not None:
        lost = math.ceil(Fraction(own, 1000) * needed)
    elif needed is not None and classes:
        lost = max(_lost(row, needed) for row in classes)
    to_order = None if needed is None or lost is None else needed + lost
    if bought.each is not None and bought.provided:
        # What is lost of the rest is made up for by what is ordered; of a part that is all provided nothing is.
        rest = math.ceil((bought.each - bought.provided) * boards)
        to_order = 0 if not rest else None if lost is None else rest + lost
    each = None if bought.each is None else int(bought.each) if bought.each.denominator == 1 else float(bought.each)
    size = " or ".join(row.name for row in classes) or None
    cells: tuple[Cell, ...] = (bought.label, size, each, needed, lost, to_order, _strip(bought.bodies, table))
    source = _source(classes) if own is None else say("lists.own loss", share=own)
    if bought.copper is not None:
        to_order, source = 0, bought.copper
        cells = (bought.label, "", each, 0, 0, 0, "")
    if per_reel is not None:
        cells += _reels(to_order, per_reel.get(bought.label))
    return ListRow(
        bought.refs, cells, source if bought.note is None else say("lists.both", first=bought.note, second=source)
    )


def _copper(bodies: Sequence[Body]) -> Said | None:
    """Return why nothing is bought: the class of all bodies is one of the board's own features."""
    named = [None if body.part_class is None else class_named(body.part_class) for body in bodies]
    if not all(known is not None and known.placed_by == "nothing" for known in named):
        return None
    return say("lists.nothing bought", name=str(bodies[0].part_class))


def _reels(to_order: int | None, reel: int | None) -> tuple[Cell, ...]:
    if reel is None or to_order is None:
        return reel, None, None
    reels = math.ceil(to_order / reel)
    return reel, reels, reels * reel - to_order


def _own_loss(bodies: Sequence[Body]) -> int | None:
    """Return what the shop states of the part number itself, in a thousand: the most where several bodies go by it."""
    stated = [body.lost_per_thousand for body in bodies]
    return max(s for s in stated if s is not None) if stated and None not in stated else None


def _lost(row: LossClass, needed: int) -> int:
    return max(row.least, math.ceil(Fraction(str(row.share)) * needed)) if needed else 0


def _source(classes: Sequence[LossClass]) -> Said:
    if not classes:
        return say("lists.size not known")
    which = [
        say("lists.loss", name=row.name, percent=round(row.share * 100, 6), least=row.least, source=row.source)
        for row in classes
    ]
    return which[0] if len(which) == 1 else say("lists.greater loss", which=which)


def classes_of(bodies: Iterable[Body], classes: Sequence[LossClass]) -> tuple[LossClass, ...]:
    """Return the size classes that the bodies may be of; none where a size is not bounded."""
    found: dict[str, LossClass] = {}
    sizes = [row for row in classes if not row.by_hand]
    hand = next(row for row in classes if row.by_hand)
    for body in bodies:
        if is_by_hand(body):
            found[hand.name] = hand
            continue
        length = longer_side(body)
        if not length.is_known:
            return ()
        low = next(n for n, row in enumerate(sizes) if length.low <= row.up_to_mm)
        high = next(n for n, row in enumerate(sizes) if length.high <= row.up_to_mm)
        found |= {row.name: row for row in sizes[low : high + 1]}
    return tuple(row for row in classes if row.name in found)


def longer_side(body: Body) -> Interval:
    """Return the longer side by code where one is named, else as known; a typical size proves nothing."""
    by_name = body.nominal_length.basis is not Basis.UNKNOWN
    return (body.nominal_length if by_name else body.length).proved.value


def is_by_hand(body: Body) -> bool:
    """Whether no placement head is asked about the part: leads through holes, or placed by hand by its class."""
    known = None if body.part_class is None else class_named(body.part_class)
    by_class = known is not None and known.placed_by in {"hand", "hand after reflow"}
    return body.mounting in NOT_ON_THE_SURFACE or by_class


def _strip(bodies: Sequence[Body], table: Losses) -> Interval | str | None:
    """Return the parts that a strip without leader needs more; blank for what comes on no tape."""
    if all(body.mounting is Mounting.THROUGH_HOLE or body.supply not in {None, Packaging.TAPE} for body in bodies):
        return ""
    pitches = [body.tape_pitch.value for body in bodies]
    if not all(pitch.is_known and pitch.low > 0 for pitch in pitches):
        return None
    least, greatest = max(p.high for p in pitches), min(p.low for p in pitches)
    leader = table.leader
    return Interval(float(math.ceil(leader.least_mm / least)), float(math.ceil(leader.greatest_mm / greatest)))
