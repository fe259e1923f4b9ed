"""Facts about neighbouring bodies: pairs on one side of the board, both surface-mounted, both of bounded size.

A body of which no greatest size is known is left out here: its own type is reported once, by the rules on parts.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, overload

import numpy as np
from msgspec import structs

from capcheck.facts.catalogue import Catalogue, Provider, Session
from capcheck.facts.columns import Column, Numbers, Texts, Truths
from capcheck.facts.part import part_rows, type_of_part
from capcheck.facts.place import bodies_with_leads, heights, surface_mounted
from capcheck.geometry import Crowd, Pairs, gathered, may_touch, pairs, tall_neighbour_gap
from capcheck.lexicon import sentence
from capcheck.model import QUAD_FLAT, Board, Body, Flags, Floats, Ints, say
from capcheck.values import LENGTH, NUMBER, few

facts = Catalogue()

SEARCH_MM: Final = 3.0
"""Bodies farther apart are no neighbours, unless a rule in use names a wider gap: guideline 16 of
rules/guidelines.csv asks for the most between bodies that are no ball grids, 2.5 mm."""
OVERLAP_MM: Final = -0.05
"""Bodies overlap from here on: rounded coordinates and sizes make up the rest, as the rule on overlaps says."""
_SAME_PLACE_MM: Final = 0.2
_SMALL_CHIP_MM: Final = 2.25
"""Greatest length of a small chip: a nominal 2.0 mm with its tolerance."""
_FEW_PINS: Final = 6
KINDS: Final = ("ball grid", "chip", "large chip", "no lead", "other", "quad flat", "small outline", "transistor")
_NAMED: Final = 6
_PAIRS_NAMED: Final = 8


def kind_of(body: Body) -> str:
    """Return the kind of package by which gaps are chosen, one of KINDS."""
    style = body.lead_style
    if style in {"chip", "melf"}:
        length = max(body.nominal_length.high, body.nominal_width.high)
        if not np.isfinite(length):
            length = max(body.length.high, body.width.high)
        return "chip" if length <= _SMALL_CHIP_MM else "large chip"
    if style in {"ball grid", "column grid", "land grid"}:
        return "ball grid"
    if style == "no lead":
        return "no lead"
    if style in {"gull wing", "flat lead"}:
        if body.pins is not None and body.pins <= _FEW_PINS:
            return "transistor"
        return "quad flat" if body.family_key in QUAD_FLAT else "small outline"
    return "other"


def _listed_twice(session: Session, board: Board, one: Ints, other: Ints) -> Flags:
    """Whether a pair is one part that stands twice in the data: its rows are reported as such, not as a collision."""
    rows, places = session.shared(part_rows), board.placements
    i, j = rows[one], rows[other]
    numbers: dict[str, int] = {}
    part = np.array([numbers.setdefault(ref, len(numbers)) for ref in places.ref], np.int64)
    near = np.hypot(places.x_mm[i] - places.x_mm[j], places.y_mm[i] - places.y_mm[j]) < _SAME_PLACE_MM
    same: Flags = near & (part[i] == part[j])
    return same


def _pairs_and_crowd(session: Session, board: Board) -> tuple[Pairs, Crowd | None]:
    bodies = session.shared(bodies_with_leads)
    present = bodies.bounded & session.shared(surface_mounted) & (bodies.side >= 0)
    if not board.unit_settled:
        present = np.zeros(len(bodies), dtype=np.bool_)
    chosen = np.flatnonzero(present)
    reach = max(SEARCH_MM, session.reach)
    found = pairs(bodies.take(chosen), reach)
    found, crowd = gathered(found, len(chosen), _listed_twice(session, board, chosen[found.i], chosen[found.j]))
    if crowd is not None:
        crowd = structs.replace(crowd, named=np.where(crowd.named < 0, -1, chosen[crowd.named]))
    # To a nanometre: what lies on a limit must not miss it by the last digit of a float.
    low, high = np.round(found.gap_low, 6), np.round(found.gap_high, 6)
    none = np.array([], np.int64)
    return Pairs(chosen[found.i], chosen[found.j], low, high, found.side, reach, none, none.astype(np.bool_)), crowd


def neighbours(session: Session) -> Pairs:
    """Return the pairs; rows index the parts to place. None where the unit of the coordinates is open.

    Of a crowd there is one for each of its bodies.
    """
    return session.shared(_pairs_and_crowd)[0]


def not_compared(session: Session, board: Board) -> Flags:
    """Return which parts may be on the surface, but have no side, place or bounded body to be compared by."""
    bodies = session.shared(bodies_with_leads)
    present = bodies.bounded & (bodies.side >= 0) & board.unit_settled
    left: Flags = session.shared(surface_mounted) & ~present
    return left


def crowded(session: Session) -> bool:
    """Return whether so many bodies lie on one another that not each pair of them has a row."""
    return session.shared(_pairs_and_crowd)[1] is not None


class _Names(Sequence[str]):
    """The names of pairs, put together only where one is asked for."""

    def __init__(self, session: Session, board: Board) -> None:
        found, rows = session.shared(neighbours), session.shared(part_rows)
        self._refs, self._first, self._second = board.placements.ref, rows[found.i], rows[found.j]
        self._rows, self._crowd = rows, session.shared(_pairs_and_crowd)[1]

    def __len__(self) -> int:
        return len(self._first)

    @overload
    def __getitem__(self, row: int) -> str: ...
    @overload
    def __getitem__(self, row: slice) -> list[str]: ...
    def __getitem__(self, row: int | slice) -> str | list[str]:
        if isinstance(row, slice):
            return [self[k] for k in range(*row.indices(len(self)))]
        own = self._refs[int(self._first[row])]
        crowd = self._crowd
        if crowd is None or row < crowd.first:
            return f"{own} and {self._refs[int(self._second[row])]}"
        at = row - crowd.first
        named = [self._refs[int(self._rows[k])] for k in crowd.named[at].tolist() if k >= 0]
        more = int(crowd.count[at]) - len(named)
        key = "facts.among at least" if crowd.at_least[at] else "facts.among more" if more else "facts.among"
        return sentence(say(key, ref=own, named=named, more=more))


@facts.text("pair.refs", "references of the two parts")
def _refs(session: Session, board: Board) -> Texts:
    return Texts(np.arange(len(session.shared(neighbours))), _Names(session, board))


@facts.number("pair.side_index", NUMBER, "0 on the top, 1 on the bottom")
def _side(session: Session) -> Numbers:
    return Numbers.exactly(session.shared(neighbours).side.astype(np.float64))


@facts.number("pair.gap", LENGTH, "free distance of the two bodies, leads included; negative where they overlap")
def _gap(session: Session) -> Numbers:
    found = session.shared(neighbours)
    return Numbers(found.gap_low, found.gap_high)


@facts.number("pair.gap_least", LENGTH, "least gap that the data leave possible")
def _least(session: Session) -> Numbers:
    return Numbers.exactly(session.shared(neighbours).gap_low)


@facts.number("pair.gap_most", LENGTH, "greatest gap that the data leave possible")
def _most(session: Session) -> Numbers:
    return Numbers.exactly(session.shared(neighbours).gap_high)


@facts.text(
    "pair.kinds",
    "kinds of the two packages, in the order of the alphabet, such as 'chip and small outline'",
    choices=tuple(f"{a} and {b}" for place, a in enumerate(KINDS) for b in KINDS[place:]),
)
def _kinds(session: Session, board: Board) -> Texts:
    found, types = session.shared(neighbours), session.shared(type_of_part)
    code = np.array([KINDS.index(kind_of(body)) for body in (*board.bodies, Body())])[types]
    one, other = np.sort(np.stack([code[found.i], code[found.j]]), axis=0)
    names = [f"{a} and {b}" for a in KINDS for b in KINDS]
    return Texts((one * len(KINDS) + other).astype(np.int64), names)


def _taller(session: Session) -> tuple[Floats, Floats]:
    return tall_neighbour_gap(session.shared(heights), session.shared(neighbours))


@facts.number("pair.height_step", LENGTH, "how much taller the one body is than the other")
def _step(session: Session) -> Numbers:
    low, high = session.shared(_taller)
    return Numbers(low, high)


@facts.number("pair.height_step_least", LENGTH, "least difference of height that the data leave possible")
def _step_least(session: Session) -> Numbers:
    return Numbers.exactly(session.shared(_taller)[0])


def _lower_widths(session: Session, board: Board) -> tuple[Floats, Floats]:
    """Return the bounds of the width, without leads, of the lower body of each pair; of either where that is open."""
    found, (low, high) = session.shared(neighbours), session.shared(heights)
    sizes = [(m.length, m.width) for m in (*board.bodies, Body())]
    table = np.array([(min(m.proved.low for m in both), min(m.proved.high for m in both)) for both in sizes])
    width = table[session.shared(type_of_part)]
    first, second = high[found.i] < low[found.j], high[found.j] < low[found.i]
    one, other = width[found.i], width[found.j]
    least = np.where(first, one[:, 0], np.where(second, other[:, 0], np.minimum(one[:, 0], other[:, 0])))
    most = np.where(first, one[:, 1], np.where(second, other[:, 1], np.maximum(one[:, 1], other[:, 1])))
    return least, most


@facts.number("pair.lower_width", LENGTH, "width of the lower body, without leads")
def _lower_width(session: Session) -> Numbers:
    low, high = session.shared(_lower_widths)
    return Numbers(low, high)


@facts.number("pair.lower_width_least", LENGTH, "least width of the lower body that the data leave possible")
def _lower_width_least(session: Session) -> Numbers:
    return Numbers.exactly(session.shared(_lower_widths)[0])


@facts.number("pair.lower_width_most", LENGTH, "greatest width of the lower body that the data leave possible")
def _lower_width_most(session: Session) -> Numbers:
    most = session.shared(_lower_widths)[1]
    return Numbers(most, most)


def _open_pairs(session: Session) -> Flags:
    found: Pairs = session.shared(neighbours)
    may_overlap: Flags = (found.gap_low < OVERLAP_MM) & (found.gap_high >= OVERLAP_MM)
    return may_overlap


def _left_pairs(session: Session, board: Board) -> Flags:
    """Which of the open pairs are left as the bodies are taken to lie; all of a crowd, where not all are measured."""
    left, chosen = session.shared(_open_pairs).copy(), np.flatnonzero(session.shared(_open_pairs))
    crowd = session.shared(_pairs_and_crowd)[1]
    if crowd is not None:
        chosen = chosen[chosen < crowd.first]
    some, types = session.shared(neighbours).take(chosen), (board.bodies, [name.footprint for name in board.types])
    left[chosen] = may_touch(session.shared(bodies_with_leads), some, session.shared(type_of_part), types, OVERLAP_MM)
    return left


OPEN_GAPS: Final = "board.open_gaps"
"""Pairs of bodies of which nothing proves that they are apart."""


@facts.number(OPEN_GAPS, NUMBER, "pairs of neighbours that overlap or not, by how they lie and how large they are")
def _open(session: Session) -> Numbers:
    return Numbers.exactly(np.array([float(session.shared(_open_pairs).sum())]))


@facts.number(
    "board.open_gaps_left",
    NUMBER,
    "those of them that may overlap as the bodies are taken to lie: parts of one footprint alike, and with the longer "
    "side the way that leaves their neighbours room, a body of no known size as its least; an inference that proves "
    "nothing",
)
def _left(session: Session) -> Numbers:
    return Numbers.exactly(np.array([float(session.shared(_left_pairs).sum())]))


@facts.text("board.open_gap_pairs", "references of these pairs, first of those that are left")
def _open_pairs_named(session: Session, board: Board) -> Texts:
    found = session.shared(neighbours)
    chosen, left = np.flatnonzero(session.shared(_open_pairs)), session.shared(_left_pairs)
    # Those that may overlap most are worth the first look.
    ranked = chosen[np.lexsort((found.gap_low[chosen], ~left[chosen]))]
    names = _Names(session, board)
    more = f", and {len(ranked) - _PAIRS_NAMED} more" if len(ranked) > _PAIRS_NAMED else ""
    return Texts.of([", ".join(names[k] for k in ranked[:_PAIRS_NAMED].tolist()) + more or "none"])


@facts.text("board.open_gap_types", "packages that most of these pairs hang on")
def _open_types(session: Session, board: Board) -> Texts:
    found, chosen = session.shared(neighbours), session.shared(_open_pairs)
    types = session.shared(type_of_part)
    bodies = (*board.bodies, Body())
    each = np.stack([types[found.i[chosen]], types[found.j[chosen]]])
    hangs = np.zeros(each.shape, np.bool_)
    # A place off the middle leaves more open than how a body lies, and that more than the tolerance of its size.
    for cause in ([not b.centred for b in bodies], [not b.oriented for b in bodies], [True for _ in bodies]):
        hangs |= np.array(cause)[each] & ~hangs.any(axis=0)
    numbers, counts = np.unique(each[hangs], return_counts=True)
    names: dict[str, int] = {}
    for number, count in zip(numbers.tolist(), counts.tolist(), strict=True):
        name = _name(board, number)
        names[name] = names.get(name, 0) + count
    ranked = sorted(names, key=lambda n: (-names[n], n))
    return Texts.of([few(ranked, _NAMED) or "none"])


def _name(board: Board, number: int) -> str:
    if not 0 <= number < len(board.bodies):
        return "unnamed"
    name = board.types[number]
    return name.footprint or board.bodies[number].family or name.part_number or "unnamed"


def _grids(session: Session, board: Board) -> Flags:
    grid = np.array([b.lead_style in {"ball grid", "column grid"} for b in (*board.bodies, Body())])
    chosen: Flags = grid[session.shared(type_of_part)]
    return chosen


@facts.flag("part.has_balls", "whether the part is known to sit on balls or columns; no where that is not known")
def _has_balls(session: Session) -> Truths:
    return Truths.known(session.shared(_grids))


@facts.number("part.free_ring", LENGTH, "nearest other body, for ball grids only")
def _free_ring(session: Session, board: Board) -> Numbers:
    found, grid = session.shared(neighbours), session.shared(_grids)
    if not board.unit_settled:
        return Numbers(np.full(len(grid), -np.inf), np.full(len(grid), np.inf))
    low, high, _ = found.closest(len(grid))
    low, high = np.maximum(low, 0.0), np.maximum(high, 0.0)  # bodies that overlap leave no ring
    # Beyond the search distance nothing is near; a body without bounds may be anywhere but is reported by itself.
    known = grid & session.shared(bodies_with_leads).bounded
    return Numbers(np.where(known, low, -np.inf), np.where(known, high, np.inf))


@facts.flag("part.opposite_grid", "whether a ball grid sits opposite, on the other side of the board")
def _opposite(session: Session, board: Board) -> Truths:
    bodies, grid = session.shared(bodies_with_leads), session.shared(_grids)
    yes = np.zeros(len(grid), dtype=np.bool_)
    maybe = yes.copy()
    rows = np.flatnonzero(grid & bodies.bounded & (bodies.side >= 0))
    if len(rows) and board.unit_settled:
        found = pairs(bodies.take(rows), 0.0, opposite=True)
        maybe[rows[found.left_out]] = True
        for some, flags in ((found.gap_high < 0, yes), (found.gap_low < 0, maybe)):
            flags[rows[found.i[some]]] = True
            flags[rows[found.j[some]]] = True
    return Truths(yes, ~maybe & ~yes)


def of_one_member(name: str) -> Provider:
    """Return the provider of a fact of one member of each pair: ``pair.first.height`` is the first's ``part.height``.

    The second member of a pair that stands for a whole crowd is not known.
    """
    _, which, own = name.split(".", 2)

    def provide(session: Session) -> Column:
        found, crowd = session.shared(neighbours), session.shared(_pairs_and_crowd)[1]
        rows = found.i if which == "first" else found.j
        if crowd is not None and which == "second":
            rows = rows.copy()
            rows[crowd.first :] = -1
        return session.get(f"part.{own}").follow(rows)

    return provide
