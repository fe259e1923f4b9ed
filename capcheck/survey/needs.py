"""What a board asks of a machine, whichever it is: of its heads, its conveyor and its feeders.

Each need mirrors the limit that a profile states for it, and the rule that compares the two; a test holds both
together: a machine of the needs of a board takes the board.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from pathlib import Path
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Prepared, prepare, read_prepared
from capcheck.facts import FACTS, Numbers, Session, Truths, bodies_by_label, expected
from capcheck.machines import Head, Line, MachineProfile, tape_widths
from capcheck.model import Board, Body, Flags, InputFile, LeadStyle, Mounting, Note, Packaging
from capcheck.shop import Settings
from capcheck.survey.each_board import Watch
from capcheck.survey.kept_results import BesideTheBoard, Results
from capcheck.survey.named_boards import named_boards
from capcheck.survey.results import Unread
from capcheck.values import LENGTH, MASS, Dimension, Interval, shortened

_ON_LEADS: Final = frozenset(
    {LeadStyle.GULL_WING, LeadStyle.FLAT_LEAD, LeadStyle.J_LEAD, LeadStyle.NO_LEAD, LeadStyle.LEADS}
)
_ON_BALLS: Final = frozenset({LeadStyle.BALL_GRID, LeadStyle.COLUMN_GRID})
_GRIDS: Final = _ON_BALLS | {LeadStyle.LAND_GRID}
_FOR_HEADS: Final = frozenset({Mounting.SURFACE, None})
_MOST_REFS: Final = 4


class ProfileLimit(Struct, frozen=True):
    """A limit of a machine profile: its section and key, its name for a reader, and whether it is an upper one."""

    section: str
    key: str
    words: str
    upper: bool
    dimension: Dimension = LENGTH


class _OfPart(Struct, frozen=True):
    """How a limit follows from the bodies: *asks* is None where a body may or may not be of those asked."""

    limit: ProfileLimit
    value: Callable[[Body], Interval]
    asks: Callable[[Body], bool | None]


def _every(body: Body) -> bool | None:
    del body
    return True


def _among(styles: frozenset[LeadStyle], pins: int = 0) -> Callable[[Body], bool | None]:
    def asks(body: Body) -> bool | None:
        if body.lead_style is None:
            return None
        if body.lead_style not in styles or (body.pins is not None and body.pins <= pins):
            return False
        return True if body.pins is not None or not pins else None

    return asks


_OF_PARTS: Final = (
    _OfPart(ProfileLimit("head", "max_part_height", "tallest part", upper=True), lambda b: b.height.value, _every),
    _OfPart(ProfileLimit("head", "max_body_length", "longest body", upper=True), lambda b: b.length.value, _every),
    _OfPart(ProfileLimit("head", "max_body_width", "widest body", upper=True), lambda b: b.width.value, _every),
    _OfPart(
        ProfileLimit("head", "smallest_chip_length", "smallest chip, longer side", upper=False),
        lambda b: b.nominal_length.value,
        _every,
    ),
    _OfPart(
        ProfileLimit("head", "smallest_chip_width", "smallest chip, shorter side", upper=False),
        lambda b: b.nominal_width.value,
        _every,
    ),
    _OfPart(
        ProfileLimit("head", "min_lead_pitch", "finest lead pitch", upper=False),
        lambda b: b.pitch.value,
        _among(_ON_LEADS, 2),
    ),
    _OfPart(
        ProfileLimit("head", "min_ball_pitch", "finest ball pitch", upper=False),
        lambda b: b.pitch.value,
        _among(_GRIDS),
    ),
    _OfPart(
        ProfileLimit("head", "min_ball_diameter", "smallest ball", upper=False),
        lambda b: b.ball_diameter.value,
        _among(frozenset({LeadStyle.BALL_GRID})),
    ),
)
_OF_BOARD: Final = (
    ("board.length", ProfileLimit("board", "max_length", "longest board", upper=True)),
    ("board.length", ProfileLimit("board", "min_length", "shortest board", upper=False)),
    ("board.width", ProfileLimit("board", "max_width", "widest board", upper=True)),
    ("board.width", ProfileLimit("board", "min_width", "narrowest board", upper=False)),
    ("board.thickness", ProfileLimit("board", "max_thickness", "thickest board", upper=True)),
    ("board.thickness", ProfileLimit("board", "min_thickness", "thinnest board", upper=False)),
    ("board.mass", ProfileLimit("board", "max_mass", "heaviest board", upper=True, dimension=MASS)),
)
LIMITS: Final = tuple(one.limit for one in _OF_PARTS) + tuple(limit for _, limit in _OF_BOARD)
"""The limits that a board asks for, in the order in which they are told."""
EDGES: Final = (
    ProfileLimit("board", "edge_clearance_top", "free conveyor edge, upper side", upper=False),
    ProfileLimit("board", "edge_clearance_bottom", "free conveyor edge, underside", upper=False),
)
"""What a board leaves free for the conveyor. No board is left for it: rails can be ordered where it is too little."""
_ANY: Final = Line("any", (MachineProfile(name="any", head=(Head(name="any"),)),), None)
"""A machine that states no limit: a board travels through it as nobody keeps it from."""


class Need(Struct, frozen=True):
    """What a board asks of a limit, in the canonical unit.

    An upper limit must be at least *surely*, and *perhaps* as much as *at_most* (infinite where nobody knows); a lower
    one at most. *refs* are the parts that ask most, of those that are known; empty where the board itself asks.
    """

    surely: float
    at_most: float
    known: float
    """What all parts ask of which it is known."""
    refs: tuple[str, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether nobody knows how far the limit would have to go, or whether any is far enough."""
        return not self.is_never and (not math.isfinite(self.at_most) or self.at_most <= 0)

    @property
    def is_never(self) -> bool:
        """Whether no limit is far enough: of an edge, that a part surely reaches over it."""
        return self.surely < 0


class BoardNeeds(Struct, frozen=True):
    """What a board asks: *needs* by the key of the limit (none where no part asks for it), feeders and placements.

    *tapes* are part numbers on tape by its width, *trays* those in trays, from those that are sure to those that are
    possible, and *unfed* those of which neither is known. *placements* are the parts for a head.
    """

    name: str
    per_year: float | None
    inputs: tuple[InputFile, ...]
    needs: Mapping[str, Need]
    balls: bool | None
    """Whether the camera must recognise balls; None where a part may have some."""
    tapes: Mapping[int, Interval]
    unfed: int
    trays: Interval
    placements: Interval


def needs_of(board: Board) -> BoardNeeds:
    """Return what a board asks of machines; what is not known widens it."""
    session = Session(FACTS, board, _ANY)
    placed = _placed(board)
    needs = {one.limit.key: need for one in _OF_PARTS if (need := _of_parts(one, placed)) is not None}
    for fact, limit in _OF_BOARD:
        column = session.numbers(fact)
        low, high = float(column.low[0]), float(column.high[0])
        end, other = (high, low) if limit.upper else (low, high)
        nothing = 0.0 if limit.upper else math.inf
        needs[limit.key] = Need(other, end, end if math.isfinite(end) and end > 0 else nothing)
    balls = [_among(_ON_BALLS)(body) for body, _ in placed]
    trays = session.numbers("line.tray_part_numbers")
    fed = [body for _, body in session.shared(bodies_by_label)]
    refs, sure, possible = _for_heads(session, board)
    return BoardNeeds(
        name=board.name,
        per_year=board.manifest.per_year,
        inputs=tuple(board.inputs),
        needs=needs | _of_edges(session, refs, sure, possible),
        balls=True if True in balls else None if None in balls else False,
        tapes=_tapes(fed),
        unfed=sum(body.supply is None or (body.supply is Packaging.TAPE and not _widths(body)) for body in fed),
        trays=Interval(float(trays.low[0]), float(trays.high[0])),
        placements=Interval(float(sure.sum()), float(possible.sum())),
    )


def _placed(board: Board) -> list[tuple[Body, tuple[str, ...]]]:
    """Return the bodies that a head places, or may place, each with the references of its parts."""
    placements = board.placements
    refs: dict[int, list[str]] = {}
    for row in placements.is_part.nonzero()[0].tolist():
        refs.setdefault(int(placements.part_type[row]), []).append(placements.ref[row])
    return [
        (board.bodies[number], tuple(names))
        for number, names in refs.items()
        if number >= 0 and board.bodies[number].mounting in _FOR_HEADS
    ]


def _for_heads(session: Session, board: Board) -> tuple[list[str], Flags, Flags]:
    """Return the references of the parts, and which of them are sure to be for a head, and which may be."""
    rows: list[int] = board.placements.is_part.nonzero()[0].tolist()
    mountings = [board.bodies[t].mounting if t >= 0 else None for t in board.placements.part_type[rows].tolist()]
    sure = expected(session.get("part.is_part"), Truths).yes
    surface = np.array([mounting is Mounting.SURFACE for mounting in mountings], dtype=np.bool_)
    refs = [board.placements.ref[row] for row in rows]
    return refs, surface & sure, np.array([mounting in _FOR_HEADS for mounting in mountings], dtype=np.bool_)


def _of_edges(session: Session, refs: Sequence[str], sure: Flags, possible: Flags) -> dict[str, Need]:
    """Return how wide the strip along each conveyor edge may be, on the side up and on that soldered first."""
    distance = expected(session.on_each("passing.edge_distance")[0], Numbers)
    below = expected(session.get("part.soldered_first"), Truths)
    top, bottom = EDGES
    needs = {top.key: _of_edge(refs, distance, sure, possible)}
    if (possible & ~below.no).any():
        needs[bottom.key] = _of_edge(refs, distance, sure & below.yes, possible & ~below.no)
    return needs


def _of_edge(refs: Sequence[str], distance: Numbers, sure: Flags, possible: Flags) -> Need:
    """Return what the parts that are *possible* leave free: one that surely reaches over the edge leaves nothing.

    Of one that may reach over it, it is known what it leaves at most.
    """
    surely = float(distance.high[sure].min(initial=math.inf))
    most = np.where(sure, distance.high, math.inf)
    ends = most if surely < 0 else np.where(distance.low > 0, distance.low, most)
    known = np.where(possible & np.isfinite(ends) & ((ends > 0) | (surely < 0)), ends, math.inf)
    least = float(known.min(initial=math.inf))
    return Need(
        surely=surely,
        at_most=float(distance.low[possible].min(initial=math.inf)),
        known=least,
        refs=(refs[int(known.argmin())],) if math.isfinite(least) else (),
    )


def _of_parts(one: _OfPart, placed: list[tuple[Body, tuple[str, ...]]]) -> Need | None:
    """Return what all bodies together ask of a limit; None where none of them can ask."""
    worst = max if one.limit.upper else min
    nothing = 0.0 if one.limit.upper else math.inf
    surely, at_most, known = nothing, nothing, nothing
    by: tuple[str, ...] = ()
    asked = False
    for body, refs in placed:
        asks = one.asks(body)
        if asks is False:
            continue
        asked = True
        value = one.value(body)
        near, far = (value.low, value.high) if one.limit.upper else (value.high, value.low)
        if asks and body.mounting is Mounting.SURFACE:
            surely = worst(surely, near)
        at_most = worst(at_most, far)
        if math.isfinite(far) and far > 0 and worst(known, far) != known:
            known, by = worst(known, far), refs
    return Need(surely, at_most, known, by) if asked else None


def _widths(body: Body) -> tuple[int, ...]:
    """Return how wide the tape of a part number may be; empty where it is on none, or of no width that is known."""
    width = body.tape_width.value
    return tape_widths(width) if body.supply is Packaging.TAPE and math.isfinite(width.high) else ()


def _tapes(bodies: Sequence[Body]) -> dict[int, Interval]:
    """Return how many part numbers come on tape of each width: those that surely do, and those that may."""
    sure: Counter[int] = Counter()
    possible: Counter[int] = Counter()
    for body in bodies:
        widths = _widths(body)
        possible.update(widths)
        if len(widths) == 1 and body.mounting is Mounting.SURFACE:
            sure.update(widths)
    return {width: Interval(float(sure[width]), float(number)) for width, number in sorted(possible.items())}


def by_whom(need: Need) -> str:
    """Return the parts that ask most, shortened."""
    return shortened(need.refs, _MOST_REFS)


def needs_of_boards(
    paths: Sequence[str | Path],
    *,
    shop: Prepared | None = None,
    quantities: Mapping[str, float] | None = None,
    tell: Callable[[Note], None] = lambda _: None,
    watch: Watch = lambda *_: None,
    jobs: int = 1,
    executor: Executor | None = None,
    keep: Path | None = None,
) -> tuple[list[BoardNeeds], list[Unread]]:
    """Return what the boards that *paths* name or hold ask, and those that could not be read, as named_boards does.

    They are read as the *shop* has it, with its libraries and what it assumes. *keep* is a folder for what each asks,
    which is taken from there while nothing changes.
    """
    shared = prepare(Settings(), None) if shop is None else shop
    kept = None if keep is None else Results(keep, BesideTheBoard(shared, further=["needs"]))

    def read(path: Path, given: Prepared) -> BoardNeeds:
        return needs_of(read_prepared(given, path))

    def asked(path: Path) -> BoardNeeds:
        given = shared.of_board(path)
        return read(path, given) if kept is None else kept.of(path, given, BoardNeeds, read)

    found = named_boards(
        paths, asked, given=shared, quantities=quantities, tell=tell, watch=watch, jobs=jobs, executor=executor
    )
    return [replace(b.result, name=b.name, per_year=b.per_year) for b in found.boards], list(found.unread)
